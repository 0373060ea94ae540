package session

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session/chance"
	"github.com/judder-obd/judder/session/complaint"
)

// turning is a drive in which the engine turned at so many rpm for each km/h, with coolant at so many °C;
// NaN where one was not read. The figures of these tests are invented.
func turning(r *Result, ratio, coolant float64) *Result {
	b := newPassBook()
	for i := range r.moments {
		m := r.moments[i].moment()
		m.rpm, m.CoolantC = ratio*m.SpeedKMH, coolant
		b.take(m)
	}
	b.setBox(r.Complaint)
	r.moments, r.Passes = b.moments, b.all(nil, r.Events)
	engineSpeeds(r.Passes, r.moments, r.Events)
	return r
}

// Passes count beside passes in the same gear, with the converter clutch and the warmth of the engine as
// before. Steps of gear and clutch are those in the comment of alikeShare.
func TestCompare_Alike(t *testing.T) {
	nan, none := math.NaN(), complaint.Box{}
	shook := func(n int) *Result { return turning(passesOf(65, n, n, light), 21, 90) }
	quiet := func(n int, ratio, coolant float64) *Result { return turning(passesOf(65, 0, n, light), ratio, coolant) }
	for name, c := range map[string]struct {
		before, after []*Result
		table         chance.Table
		finding       PairFinding
		apart         int
		says          string
	}{
		"as before":                     {[]*Result{shook(5)}, []*Result{quiet(5, 21, 90)}, chance.Table{Before: 5, BeforeOf: 5, AfterOf: 5}, Gone, 0, ""},
		"a little slip, other tyres":    {[]*Result{shook(5)}, []*Result{quiet(5, 21.7, 80)}, chance.Table{Before: 5, BeforeOf: 5, AfterOf: 5}, Gone, 0, ""},
		"another gear":                  {[]*Result{shook(5)}, []*Result{quiet(5, 28, 90)}, chance.Table{Before: 5, BeforeOf: 5}, NotAlike, 5, "before 1365 rpm at 65 km/h, after 1820 rpm at 65 km/h: drive in the same gear"},
		"a lower gear before":           {[]*Result{turning(passesOf(65, 5, 5, light), 28, 90)}, []*Result{quiet(5, 21, 90)}, chance.Table{Before: 5, BeforeOf: 5}, NotAlike, 5, "after 1365 rpm at 65 km/h: drive in the same gear"},
		"the clutch no longer locks":    {[]*Result{shook(5)}, []*Result{quiet(5, 22.5, 90)}, chance.Table{Before: 5, BeforeOf: 5}, NotAlike, 5, "one that no longer locks hides the shudder"},
		"open before, locked after":     {[]*Result{turning(passesOf(65, 5, 5, light), 22.5, 90)}, []*Result{quiet(5, 21, 90)}, chance.Table{Before: 5, BeforeOf: 5}, NotAlike, 5, "the converter clutch as it was before"},
		"cold after":                    {[]*Result{shook(5)}, []*Result{quiet(5, 21, 20)}, chance.Table{Before: 5, BeforeOf: 5}, NotAlike, 5, "before the coolant had 90 °C, after 20 °C: drive with the engine as warm as before"},
		"cold and another gear":         {[]*Result{shook(5)}, []*Result{quiet(5, 28, 20)}, chance.Table{Before: 5, BeforeOf: 5}, NotAlike, 5, "drive in the same gear|before the coolant had 90 °C"},
		"engine speed not read after":   {[]*Result{shook(5)}, []*Result{quiet(5, nan, 90)}, chance.Table{Before: 5, BeforeOf: 5, AfterOf: 5}, Gone, 0, ""},
		"coolant not read before":       {[]*Result{turning(passesOf(65, 5, 5, light), 21, nan)}, []*Result{quiet(5, 21, 20)}, chance.Table{Before: 5, BeforeOf: 5, AfterOf: 5}, Gone, 0, ""},
		"coolant not read in one after": {[]*Result{shook(5)}, []*Result{quiet(5, 21, nan), quiet(4, 21, 20)}, chance.Table{Before: 5, BeforeOf: 5, AfterOf: 5}, Gone, 4, ""},
		"too few as before":             {[]*Result{shook(5)}, []*Result{quiet(30, 28, 90), quiet(1, 21, 90)}, chance.Table{Before: 5, BeforeOf: 5, AfterOf: 1}, NotShown, 30, ""},
		"others beside enough":          {[]*Result{shook(5)}, []*Result{quiet(3, 28, 90), quiet(5, 21, 90)}, chance.Table{Before: 5, BeforeOf: 5, AfterOf: 5}, Gone, 3, ""},
		"quiet before and after with the clutch open": {[]*Result{shook(5), quiet(3, 23, 90)}, []*Result{quiet(8, 23, 90)},
			chance.Table{BeforeOf: 3, AfterOf: 8}, NotAlike, 0, "hides the shudder"},
		"it shook locked and open, and is quiet open": {[]*Result{shook(5), turning(passesOf(65, 5, 5, light), 23, 90)}, []*Result{quiet(8, 23, 90)},
			chance.Table{Before: 5, BeforeOf: 5, AfterOf: 8}, NotAlike, 0, "before 1365 rpm at 65 km/h"},
		"quiet before only in another gear": {[]*Result{shook(5), quiet(3, 28, 90)}, []*Result{quiet(5, 21, 90)}, chance.Table{Before: 5, BeforeOf: 5, AfterOf: 5}, Gone, 0, ""},
		"seen after in another gear":        {[]*Result{shook(5)}, []*Result{turning(passesOf(65, 1, 5, light), 28, 90)}, chance.Table{Before: 5, BeforeOf: 5}, StillThere, 5, "same gear"},
		"no complaint, another gear": {[]*Result{turning(passesOf(65, 5, 5, none), 21, 90)}, []*Result{turning(passesOf(65, 0, 5, none), 28, 90)},
			chance.Table{Before: 5, BeforeOf: 5}, NotAlike, 5, "same gear"},
	} {
		p := Compare(c.before, c.after, none)
		if p.Table != c.table || p.Finding != c.finding || p.Apart != c.apart {
			t.Errorf("%s: %+v %v, %d apart; want %+v %v, %d", name, p.Table, p.Finding, p.Apart, c.table, c.finding, c.apart)
		}
		all := strings.Join(p.Unlike, "\n")
		for says := range strings.SplitSeq(c.says, "|") {
			if !strings.Contains(all, says) || c.says == "" && all != "" {
				t.Errorf("%s: %q, want %q", name, all, says)
			}
		}
	}
}

// What one side does not give is named: passes are then not told apart by it.
func TestCompare_Unknown(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		ratio, coolant float64
		says           string
	}{
		{21, 90, ""}, {21, nan, "how warm the engine was"}, {nan, 90, "engine speed for road speed"}, {nan, nan, "how warm|engine speed"},
	} {
		p := Compare([]*Result{turning(passesOf(65, 5, 5, light), 21, 90)}, []*Result{turning(passesOf(65, 0, 5, light), c.ratio, c.coolant)}, complaint.Box{})
		for says := range strings.SplitSeq(c.says, "|") {
			if all := strings.Join(p.Unknown, "\n"); !strings.Contains(all, says) || c.says == "" && all != "" || p.Finding != Gone {
				t.Errorf("%+v: %q %v", c, all, p.Finding)
			}
		}
	}
}

// Where it shook in two gears each is weighed for itself, and the one in which more passes count is named.
func TestCompare_Gears(t *testing.T) {
	before := []*Result{turning(passesOf(65, 3, 3, light), 21, 90), turning(passesOf(65, 1, 3, light), 28, 90)}
	after := []*Result{turning(passesOf(65, 0, 1, light), 21, 90), turning(passesOf(65, 0, 3, light), 28, 90)}
	p := Compare(before, after, complaint.Box{})
	if len(p.Cells) != 2 || p.Table != (chance.Table{Before: 4, BeforeOf: 6, AfterOf: 4}) || p.Finding != NotShown || !strings.HasSuffix(p.Where, ", 1365 rpm at 65 km/h, warm") {
		t.Errorf("%+v", p)
	}
	if want := 1. / 4 * 1 / 2; math.Abs(p.Chance-want) > 1e-9 { // by hand: C(3,0)/C(4,3), and 3 of 6
		t.Errorf("%v, want %v", p.Chance, want)
	}
}

// Two cars, and a drive after that is the earlier one, show nothing of a repair.
func TestCompare_OtherCarOrOrder(t *testing.T) {
	day := time.Date(2026, 3, 1, 10, 0, 0, 0, time.UTC)
	for name, c := range map[string]struct {
		one, two Recorded
		want     PairFinding
	}{
		"one car":          {Recorded{At: day, VIN: "0TEST11A0K0123459"}, Recorded{At: day.AddDate(0, 0, 4), VIN: "0TEST11A0K0123459"}, Gone},
		"two cars":         {Recorded{At: day, VIN: "0TEST11A0K0123459"}, Recorded{At: day.AddDate(0, 0, 4), VIN: "0OTHR22B0L0999999"}, TwoCars},
		"hidden in one":    {Recorded{VIN: "0TEST11A0K0123459"}, Recorded{VIN: "0TEST11A0K0******"}, Gone},
		"hidden, two cars": {Recorded{VIN: "0TEST11A0K0123459"}, Recorded{VIN: "0OTHR22B0L0******"}, TwoCars},
		"known of one":     {Recorded{VIN: "0TEST11A0K0123459"}, Recorded{}, Gone},
		"a month earlier":  {Recorded{At: day}, Recorded{At: day.AddDate(0, -1, 0)}, Reversed},
		"no date":          {Recorded{At: day}, Recorded{}, Gone},
	} {
		before, after := passesOf(65, 5, 5, light), passesOf(65, 0, 5, light)
		before.Recorded, after.Recorded = c.one, c.two
		if p := Compare([]*Result{before}, []*Result{after}, complaint.Box{}); p.Finding != c.want {
			t.Errorf("%s: %v, want %v", name, p.Finding, c.want)
		}
	}
}

// A brake tap opens the clutch for a moment and leaves the pass as it was; a pass that was mostly open and
// shook while the clutch was locked counts as locked.
func TestEngineSpeeds(t *testing.T) {
	for name, c := range map[string]struct {
		locked   float64 // s, then open to the end of 10 s
		shakesAt float64 // s, for two of them; 0 for not at all
		releases float64 // rpm, by which the engine is faster in every second moment of that
		want     float64
	}{
		"locked, with a tap":                 {8, 0, 0, 1365},
		"locked, shakes up to the tap":       {8, 5.5, 0, 1365},
		"mostly open, and it shook locked":   {4, 1, 0, 1365},
		"locked, grabs and releases":         {8, 4, 200, 1365},
		"mostly open, and quiet":             {4, 0, 0, 1495},
		"open all the time, and it shook so": {0, 3, 0, 1495},
	} {
		b := newPassBook()
		for k := range 50 {
			m := moment{start: sec(float64(k) / 5), end: sec(float64(k+1) / 5), Point: complaint.Point{SpeedKMH: 65, LoadPct: 40}, rpm: 1495}
			if m.end <= sec(c.locked) {
				m.rpm = 1365
			}
			if c.shakesAt > 0 && m.start >= sec(c.shakesAt) && m.end <= sec(c.shakesAt+2) {
				m.rpm += c.releases * float64(k%2)
			}
			b.take(m)
		}
		var events []detect.Event
		if c.shakesAt > 0 {
			events = []detect.Event{{Start: sec(c.shakesAt), End: sec(c.shakesAt + 2)}}
		}
		passes := b.all(nil, events)
		engineSpeeds(passes, b.moments, events)
		if len(passes) != 1 || math.Abs(passes[0].EngineRPM-c.want) > 0.01 {
			t.Errorf("%s: %+v, want %v rpm", name, passes, c.want)
		}
	}
}

// The engine speed of a moment is the mean of its readings: swings even out.
func TestPasses_EngineSpeed(t *testing.T) {
	b := newPassBook()
	spans := []detect.Span{{Reason: detect.Judged}}
	for k := range 50 {
		for i := range 4 {
			b.push(&pids.Sample{Signal: pids.RPM, Value: 1600 + 50*float64(i%2)})
		}
		spans[0].End = sec(float64(k+1) / 5)
		b.follow(spans, func() float64 { return 50 })
	}
	passes := b.all(nil, nil)
	engineSpeeds(passes, b.moments, nil)
	if len(passes) != 1 || passes[0].EngineRPM != 1625 {
		t.Errorf("%+v", passes)
	}
}
