package session

import (
	"math"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session/chance"
	"github.com/judder-obd/judder/session/complaint"
)

// passesOf is a drive of passes of 10 s at a road speed and light load, of which the first shudder.
func passesOf(kmh float64, shudders, all int, box complaint.Box) *Result {
	r := &Result{Complaint: box, Verdict: detect.Verdict{SmallestRPM: 60}}
	b := newPassBook()
	b.setBox(box)
	for i := range all {
		start := time.Duration(i) * time.Minute
		for k := range 50 {
			m := moment{start: start + time.Duration(k)*200*time.Millisecond, swing: 25}
			m.end = m.start + 200*time.Millisecond
			m.Point = complaint.Point{SpeedKMH: kmh, LoadPct: 40, ThrottlePct: math.NaN(), CoolantC: 90}
			if i < shudders {
				m.swing = 110
			}
			b.take(m)
		}
		if i < shudders {
			r.Events = append(r.Events, detect.Event{Start: start + 2*time.Second, End: start + 4*time.Second, SwingRPM: 110, SpeedKMH: kmh, LoadPct: 40, ThrottlePct: math.NaN(), CoolantC: 90})
		}
	}
	r.moments, r.Passes = b.moments, b.all(nil, r.Events)
	return r
}

func TestCompare(t *testing.T) {
	for name, c := range map[string]struct {
		before, after *Result
		change        func(after *Result)
		table         chance.Table
		finding       PairFinding
		more          int
	}{
		"gone":              {passesOf(65, 5, 6, light), passesOf(65, 0, 8, light), nil, chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, Gone, 0},
		"the box of before": {passesOf(65, 5, 6, light), passesOf(65, 0, 8, complaint.Box{}), nil, chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, Gone, 0},
		"the box of after":  {passesOf(65, 5, 6, complaint.Box{}), passesOf(65, 0, 8, light), nil, chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, Gone, 0},
		"too few passes":    {passesOf(65, 3, 3, light), passesOf(65, 0, 3, light), nil, chance.Table{Before: 3, BeforeOf: 3, AfterOf: 3}, NotShown, 1},
		"still there":       {passesOf(65, 5, 6, light), passesOf(65, 1, 8, light), nil, chance.Table{Before: 5, BeforeOf: 6, After: 1, AfterOf: 8}, StillThere, 0},
		"never there":       {passesOf(65, 0, 6, light), passesOf(65, 0, 8, light), nil, chance.Table{BeforeOf: 6, AfterOf: 8}, NothingBefore, 0},
		"driven elsewhere":  {passesOf(65, 5, 6, light), passesOf(85, 0, 8, light), nil, chance.Table{Before: 5, BeforeOf: 6}, NothingToCompare, 0},
		"felt after":        {passesOf(65, 5, 6, light), passesOf(65, 0, 8, light), func(r *Result) { r.Marks = []Mark{{Strength: 1}, {Note: "bridge"}} }, chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, StillFelt, 0},
		"seen outside a pass": {passesOf(65, 5, 6, light), passesOf(65, 0, 8, light), func(r *Result) {
			r.Events = append(r.Events, detect.Event{Start: time.Hour, SpeedKMH: 62, LoadPct: 30, ThrottlePct: math.NaN(), CoolantC: 90})
		}, chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, StillThere, 0},
		"a slow link after":    {passesOf(65, 5, 6, light), passesOf(65, 0, 8, light), func(r *Result) { r.Verdict.SmallestRPM = 130 }, chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, TooBlunt, 0},
		"no complaint":         {passesOf(65, 5, 6, complaint.Box{}), passesOf(66, 0, 8, complaint.Box{}), nil, chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, Gone, 0},
		"no complaint, no box": {passesOf(65, 5, 6, complaint.Box{}), passesOf(70, 0, 8, complaint.Box{}), nil, chance.Table{}, NothingToCompare, 0},
	} {
		if c.change != nil {
			c.change(c.after)
		}
		p := Compare(c.before, c.after, complaint.Box{})
		if p.Table != c.table || p.Finding != c.finding || p.More != c.more {
			t.Errorf("%s: %+v %v, %d more; want %+v %v, %d", name, p.Table, p.Finding, p.More, c.table, c.finding, c.more)
		}
	}
}

// 5 of 6 and 0 of 8: of the 2002 ways to choose 5 of 14 passes 6 lie before. The spread has each
// moment once.
func TestCompare_Figures(t *testing.T) {
	p := Compare(passesOf(65, 5, 6, light), passesOf(65, 0, 8, light), complaint.Box{})
	if math.Abs(p.Chance-6./2002) > 1e-12 || p.SmallestRPM != 110 || p.ShowsRPM != 60 {
		t.Errorf("%+v", p)
	}
	if b := &p.Before; b.Time != time.Minute || math.Abs(b.Share[5]-5./6) > 1e-9 || math.Abs(b.Share[1]-1./6) > 1e-9 {
		t.Errorf("before %+v", b)
	}
	if a := &p.After; a.Time != 80*time.Second || a.Share[1] != 1 {
		t.Errorf("after %+v", a)
	}
	elsewhere := Compare(passesOf(65, 5, 6, light), passesOf(65, 0, 8, light), complaint.Box{FromKMH: 80, ToKMH: 90})
	if elsewhere.Finding != NothingToCompare || elsewhere.Before.Time != 0 {
		t.Errorf("asked elsewhere: %+v", elsewhere)
	}
}

// Drives that were recorded are compared as they were driven.
func TestCompare_Recorded(t *testing.T) {
	r, err := Review(shuddering(t))
	if err != nil {
		t.Fatal(err)
	}
	p := Compare(&r, &r, complaint.Box{})
	if p.Table.Before == 0 || p.Table.Before != p.Table.After || p.Table.BeforeOf != len(r.Passes) || p.Finding != StillThere || p.Before != p.After || p.Before.Time == 0 {
		t.Errorf("a drive beside itself: %+v, %d passes", p, len(r.Passes))
	}
}
