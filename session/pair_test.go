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
	r := &Result{Complaint: box, Verdict: detect.Verdict{Finding: detect.NoShudder, SmallestRPM: 60}}
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
		"felt after, as the headline has it": {passesOf(65, 5, 6, light), passesOf(65, 0, 8, light), func(r *Result) {
			r.Marks, r.Verdict.Finding, r.Headline.Rule = []Mark{{Strength: 1, Outcome: NotSeen}}, detect.CannotTell, FeltNotSeen
		}, chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, StillFelt, 0},
		"stopped by brake taps after": {passesOf(65, 5, 6, light), passesOf(65, 0, 8, light), func(r *Result) { r.Headline.Rule = TapStopped },
			chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, StillThere, 0},
		"seen outside a pass": {passesOf(65, 5, 6, light), passesOf(65, 0, 8, light), func(r *Result) {
			r.Events = append(r.Events, detect.Event{Start: time.Hour, SpeedKMH: 62, LoadPct: 30, ThrottlePct: math.NaN(), CoolantC: 90})
		}, chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, StillThere, 0},
		"a slow link after":       {passesOf(65, 5, 6, light), passesOf(65, 0, 8, light), func(r *Result) { r.Verdict.SmallestRPM = 130 }, chance.Table{Before: 5, BeforeOf: 6}, TooBlunt, 0},
		"marks not read after":    {passesOf(65, 5, 6, light), passesOf(65, 0, 8, light), func(r *Result) { r.MarksUnread = "torn" }, chance.Table{Before: 5, BeforeOf: 6}, TooBlunt, 0},
		"too seldom read after":   {passesOf(65, 5, 6, light), passesOf(65, 0, 8, light), func(r *Result) { r.Rate = 5.4 }, chance.Table{Before: 5, BeforeOf: 6}, TooBlunt, 0},
		"not to be cleared after": {passesOf(65, 5, 6, light), passesOf(65, 0, 8, light), func(r *Result) { r.Verdict.Finding, r.Verdict.Reason = detect.CannotTell, "misfire" }, chance.Table{Before: 5, BeforeOf: 6}, TooBlunt, 0},
		"seen elsewhere": {passesOf(65, 5, 6, light), passesOf(65, 0, 8, light), func(r *Result) {
			r.Events = append(r.Events, detect.Event{Start: time.Hour, SpeedKMH: 95, LoadPct: 30, ThrottlePct: math.NaN(), CoolantC: 90})
		}, chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, StillThere, 0},
		"no complaint":         {passesOf(65, 5, 6, complaint.Box{}), passesOf(66, 0, 8, complaint.Box{}), nil, chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, Gone, 0},
		"no complaint, no box": {passesOf(65, 5, 6, complaint.Box{}), passesOf(70, 0, 8, complaint.Box{}), nil, chance.Table{}, NothingToCompare, 0},
	} {
		if c.change != nil {
			c.change(c.after)
		}
		p := Compare([]*Result{c.before}, []*Result{c.after}, complaint.Box{})
		if p.Table != c.table || p.Finding != c.finding || p.More != c.more {
			t.Errorf("%s: %+v %v, %d more; want %+v %v, %d", name, p.Table, p.Finding, p.More, c.table, c.finding, c.more)
		}
	}
}

// 5 of 6 and 0 of 8: of the 2002 ways to choose 5 of 14 passes 6 lie before. The spread has each
// moment once.
func TestCompare_Figures(t *testing.T) {
	p := Compare([]*Result{passesOf(65, 5, 6, light)}, []*Result{passesOf(65, 0, 8, light)}, complaint.Box{})
	if math.Abs(p.Chance-6./2002) > 1e-12 || p.SmallestRPM != 110 {
		t.Errorf("%+v", p)
	}
	if b := &p.Before; b.Time != time.Minute || math.Abs(b.Share[5]-5./6) > 1e-9 || math.Abs(b.Share[1]-1./6) > 1e-9 {
		t.Errorf("before %+v", b)
	}
	if a := &p.After; a.Time != 80*time.Second || a.Share[1] != 1 {
		t.Errorf("after %+v", a)
	}
	elsewhere := Compare([]*Result{passesOf(65, 5, 6, light)}, []*Result{passesOf(65, 0, 8, light)}, complaint.Box{FromKMH: 80, ToKMH: 90})
	if elsewhere.Finding != NothingToCompare || elsewhere.Before.Time != 0 {
		t.Errorf("asked elsewhere: %+v", elsewhere)
	}
}

// Several drives of a side count together: but a drive that could not have shown it adds no quiet pass,
// and passes in other conditions add nothing to those that shuddered.
func TestCompare_Several(t *testing.T) {
	none := complaint.Box{}
	blunt := passesOf(65, 0, 8, light)
	blunt.Verdict.SmallestRPM = 130
	for name, c := range map[string]struct {
		before, after []*Result
		table         chance.Table
		finding       PairFinding
		blind         int
	}{
		"two short drives after": {[]*Result{passesOf(65, 5, 6, light)}, []*Result{passesOf(65, 0, 4, light), passesOf(65, 0, 4, light)}, chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, Gone, 0},
		"one of them too blunt":  {[]*Result{passesOf(65, 5, 6, light)}, []*Result{blunt, passesOf(65, 0, 1, light)}, chance.Table{Before: 5, BeforeOf: 6, AfterOf: 1}, NotShown, 1},
		"quiet at a speed that was quiet before": {[]*Result{passesOf(65, 5, 6, none), passesOf(95, 0, 2, none)}, []*Result{passesOf(95, 0, 30, none), passesOf(65, 0, 1, none)},
			chance.Table{Before: 5, BeforeOf: 8, AfterOf: 31}, NotShown, 0},
		"one of many shudders": {[]*Result{passesOf(65, 5, 6, light)}, []*Result{passesOf(65, 0, 30, light), passesOf(65, 1, 1, light)}, chance.Table{Before: 5, BeforeOf: 6, After: 1, AfterOf: 31}, StillThere, 0},
		"none after":           {[]*Result{passesOf(65, 5, 6, light)}, nil, chance.Table{Before: 5, BeforeOf: 6}, NothingToCompare, 0},
	} {
		p := Compare(c.before, c.after, none)
		if p.Table != c.table || p.Finding != c.finding || len(p.Blind) != c.blind {
			t.Errorf("%s: %+v %v, not counted %q; want %+v %v", name, p.Table, p.Finding, p.Blind, c.table, c.finding)
		}
	}
}

// Drives that were recorded are compared as they were driven.
func TestCompare_Recorded(t *testing.T) {
	r, err := Review(shuddering(t))
	if err != nil {
		t.Fatal(err)
	}
	p := Compare([]*Result{&r}, []*Result{&r}, complaint.Box{})
	if p.Table.Before == 0 || p.Table.Before != p.Table.After || p.Table.BeforeOf != len(r.Passes) || p.Finding != StillThere || p.Before != p.After || p.Before.Time == 0 {
		t.Errorf("a drive beside itself: %+v, %d passes", p, len(r.Passes))
	}
}
