package detect

import (
	"math"
	"slices"
	"testing"

	"github.com/judder-obd/judder/detect/series"
)

// The last three looks are an alarm when they have together what is wanted. One that shows nothing counts for
// the least, but an alarm it never is.
func TestDecide(t *testing.T) {
	th := limits
	th.Looks, th.LookLeast = 3, -6
	none := math.Inf(-1)
	for _, c := range []struct {
		name  string
		looks []float64 // nats beyond what is wanted, the last one last
		want  bool
	}{
		{"all have enough", []float64{0, 0, 0}, true},
		{"one has not, and the others make up for it", []float64{2, -3, 1}, true},
		{"nor do they", []float64{2, -3.1, 1}, false},
		{"the first, with little to spare", []float64{11.9}, false},
		{"the first, with much", []float64{12}, true},
		{"two after nothing", []float64{none, 3, 3}, true},
		{"much against it counts as the least", []float64{-50, 3, 3}, true},
		{"a fourth before is over", []float64{9, 0, 0, -1}, false},
		{"nothing now", []float64{20, 20, none}, false},
		{"the least now", []float64{20, 20, -6}, true},
		{"less than the least now", []float64{20, 20, -6.1}, false},
	} {
		d, got := newWith(&th), false
		for _, m := range c.looks {
			got = d.decide(&look{margin: m})
		}
		if got != c.want {
			t.Errorf("%s: alarm %v", c.name, got)
		}
	}
}

// An event is near until join seconds after its end; without an event nothing is.
func TestNear(t *testing.T) {
	var b eventBook
	if b.near(1, 2.5) {
		t.Error("near to no event")
	}
	b.events, b.endT = make([]Event, 1), 10
	if !b.near(12.4, 2.5) || b.near(12.5, 2.5) {
		t.Error("2.5 s after the end decide")
	}
}

// Less evidence is wanted of a slow link, and all of it from slowRate on.
func TestWantedAt(t *testing.T) {
	for _, c := range []struct{ rate, want float64 }{{2.7, 11}, {3, 11}, {5, 12.5}, {7, 14}, {20, 14}} {
		if got := standard.wantedAt(c.rate); !(math.Abs(got-c.want) <= 1e-9) {
			t.Errorf("%v a second: %v nats, want %v", c.rate, got, c.want)
		}
	}
}

// Each healthy explanation counts by what it leaves; the best of them stands against shaking. Floor and
// readings before tell of the scatter as much as they are worth. Worked by hand:
// (6+12)/2·ln((q+1200)/(900+1200)) and 6/2·ln(q/900).
func TestAgainst(t *testing.T) {
	w := weigher{spare: 6, shaking: 900}
	w.tell(8, 1000)
	w.tell(4, 200)
	f := fitted{evidence: w.known(9000), free: w.free(9000)}
	if !(math.Abs(f.evidence-9*math.Log(10200./2100)) <= 1e-9) || !(math.Abs(f.free-3*math.Log(10)) <= 1e-9) {
		t.Fatalf("%v and %v nats", f.evidence, f.free)
	}
	f.against(&w, 20000, slowlyWaving)
	f.against(&w, 9000, slowlyWaving)
	if f.healthy != parabola {
		t.Error("an explanation counts that is worse, or no better")
	}
	f.against(&w, 3000, step)
	if f.healthy != step || !(math.Abs(f.evidence-9*math.Log(2)) <= 1e-9) || !(math.Abs(f.free-3*math.Log(10./3)) <= 1e-9) {
		t.Errorf("%v and %v nats against %v", f.evidence, f.free, f.healthy)
	}
	if exact := (weigher{spare: 6, worth: 12}); exact.known(0) != 0 || exact.free(0) != 0 { // both leave nothing: neither is better
		t.Errorf("%v and %v nats for one of two that explain all", exact.known(0), exact.free(0))
	}
}

// What a window has beyond the rule is what it has least of, of evidence and evidence beside the blow.
func TestMargin(t *testing.T) {
	th := limits
	th.Beside = 6
	for _, c := range []struct{ evidence, beside, want float64 }{{15, 10.5, 4}, {20, 7, 1}, {10, 10, -1}, {20, 5, -1}} {
		if got := (&fitted{evidence: c.evidence, beside: c.beside, wanted: 11}).margin(&th); got != c.want {
			t.Errorf("%+v: %v nats", c, got)
		}
	}
}

// A slow link has one longer window, from slowRate on it has not.
func TestWindowsAt(t *testing.T) {
	if a, b := windowsAt(slowRate-0.1), windowsAt(slowRate); a != b+1 {
		t.Errorf("%d windows below %v readings a second, %d from there on", a, slowRate, b)
	}
}

// Looks before a gap of the link have no say after it.
func TestRestart(t *testing.T) {
	th := limits
	th.Looks, th.LookLeast = 3, -6
	d := newWith(&th)
	d.decide(&look{margin: 40})
	d.rule.rough = 3
	d.rule.restart(10)
	if d.rule.lookT != 10 || d.rule.rough != 0 || d.decide(&look{t: 10.1, margin: 11}) {
		t.Errorf("%+v", d.rule)
	}
}

// The first look counts for no time.
func TestConclude_First(t *testing.T) {
	d := newWith(&limits)
	e := newLook(5)
	d.conclude(&e, OutsideBand)
	e.t = 5.25
	if d.conclude(&e, OutsideBand); d.books.otherSeconds != 0.25 {
		t.Errorf("%v s of two looks 0.25 s apart", d.books.otherSeconds)
	}
}

// Readings nearer than Near are averaged, in time and in value, and no more of them than that.
func TestNearReadingsAreAveraged(t *testing.T) {
	in := newIntake()
	for i, v := range []float64{1800, 1810, 1820, 1830, 1840} {
		in.take(5+0.03*float64(i), v, &standard)
	}
	want := []series.Reading{{T: 5.015, V: 1805}, {T: 5.075, V: 1825}, {T: 5.12, V: 1840}}
	if len(in.rpm.All) != len(want) {
		t.Fatalf("%+v", in.rpm.All)
	}
	for i, r := range in.rpm.All {
		if !(math.Abs(r.T-want[i].T) <= 1e-9) || !(math.Abs(r.V-want[i].V) <= 1e-9) {
			t.Errorf("%+v, want %+v", r, want[i])
		}
	}
}

// The demand's rest is known once the car stood or braked and the demand moved; it moves when its range
// is larger than counts as steady.
func TestDemand(t *testing.T) {
	r := newConditions()
	r.throttle.take(series.Reading{T: 1, V: 14}, 0)
	r.throttle.take(series.Reading{T: 2, V: 17}, 0)
	if r.demandMoves(2, &standard) {
		t.Error("3 % within the time is moving")
	}
	r.restSeen = true
	if r.restKnown(&r.throttle, &standard) {
		t.Error("3 % of range tell where the rest is")
	}
	r.throttle.take(series.Reading{T: 3, V: 20}, 0)
	if !r.restKnown(&r.throttle, &standard) {
		t.Error("6 % of range and a stop do not tell where the rest is")
	}
	r.restSeen = false
	if r.restKnown(&r.throttle, &standard) {
		t.Error("a rest that was never seen is known")
	}
	r.throttle.take(series.Reading{T: 3.2, V: 15}, 0)
	if !r.demandMoves(3.2, &standard) {
		t.Error("5 % within the time is steady")
	}
	r.throttle.take(series.Reading{T: 4, V: 60}, -1)
	if len(r.throttle.All) != 1 || r.throttle.moved() != 0 {
		t.Error("a better signal does not start again")
	}
}

// Looks that alarm less than 2.5 s apart are one event: from the first start to the last end, with the
// largest swing and its limit, all its readings, the means of the conditions, and a frequency that weighs
// each look by its evidence (worked by hand).
func TestEventBook(t *testing.T) {
	r := newConditions()
	var b eventBook
	add := func(first, last, size, hz, free, speed float64) *Event {
		r.speed.Add(series.Reading{T: last, V: speed})
		e := &look{first: first, last: last, size: size, limit: size / 2, usual: size / 10, fresh: 7, fit: fitted{hz: hz, free: free}}
		b.add(e, &r, &limits, 0.1, 0)
		return &b.events[len(b.events)-1]
	}
	v := add(10, 12, 100, 2, 0, 60)
	if len(v.Hz) != 0 || !v.Regular || v.SpeedKMH != 60 || v.CannotTell != (doubtNoDemand|doubtShort).words() {
		t.Errorf("without evidence: %+v", v)
	}
	if v = add(11, 13, 80, 2, 10, 70); v.CannotTell != doubtNoDemand.words() {
		t.Errorf("with 10 nats: %q", v.CannotTell)
	}
	add(15.5, 15, 100, 3, 40, 80) // 2.5 s after the end: still the same
	r.load, r.hasLoad = series.Reading{V: 30}, true
	r.coolant, r.hasCoolant = series.Reading{V: 90}, true
	r.throttle.take(series.Reading{V: 20}, 0)
	add(14, 16, 60, 5, -9, 50) // evidence against a wave is no evidence for its frequency
	r.load.V, r.coolant.V = 40, 80
	r.throttle.take(series.Reading{V: 22}, 0)
	v = add(15, 14, 90, 2.8, 1, 60)
	if len(b.events) != 1 || v.Start != seconds(10) || v.End != seconds(16) || v.SwingRPM != 100 || v.LimitRPM != 50 || v.FloorRPM != 10 || v.Readings != 35 {
		t.Errorf("%+v", b.events)
	}
	if !slices.Equal(v.Hz, []float64{2.8, 7.2, 12.8}) || v.SpeedKMH != 64 || v.LoadPct != 35 || v.CannotTell != "" || v.ThrottlePct != 21 || v.CoolantC != 85 { // (10·2 + 40·3 + 1·2.8)/51 = 2.8
		t.Errorf("%v Hz, %v km/h, load %v, throttle %v, coolant %v", v.Hz, v.SpeedKMH, v.LoadPct, v.ThrottlePct, v.CoolantC)
	}
	if v = add(18.625, 20, 70, 4, 3, 90); len(b.events) != 2 || v.Start != seconds(18.625) || v.SwingRPM != 70 || v.Hz[0] != 4 || v.SpeedKMH != 90 || v.LoadPct != 40 || v.CannotTell != doubtShort.words() {
		t.Errorf("a later event: %+v", b.events)
	}
	if v = add(30, 31, 70, 4, 3, 90); len(b.events) != 3 || v.CannotTell != doubtShort.words() {
		t.Errorf("the same doubt again: %+v", v)
	}
}

// What else an event could be, at each limit: more than half of its looks in step with the throttle, fewer
// than 7 readings a second, less than 10 nats of its own, colder than 49 °C.
func TestDoubts(t *testing.T) {
	for _, c := range []struct {
		name             string
		inStep, looks, n float64 // n looks with throttle
		rate, most, c    float64
		want             doubt
	}{
		{"none", 0, 4, 4, 7, 10, 49, 0},
		{"half in step", 2, 4, 4, 7, 10, 49, 0},
		{"more than half", 3, 5, 5, 7, 10, 49, doubtInStep},
		{"no throttle", 0, 4, 0, 7, 10, 49, doubtNoDemand},
		{"slow link", 0, 4, 4, 6.9, 30, 49, doubtSlowLink},
		{"slow and short", 0, 4, 4, 6.9, 9, 49, doubtSlowLink}, // the link is why it is short of evidence
		{"short", 0, 4, 4, 7, 9.9, 49, doubtShort},
		{"cold", 0, 4, 4, 7, 10, 48.9, doubtCold},
		{"coolant not read", 0, 4, 4, 7, 10, math.NaN(), 0},
		{"all", 4, 4, 0, 3, 3, 20, doubtInStep | doubtNoDemand | doubtSlowLink | doubtCold},
	} {
		b := eventBook{stepN: int(c.inStep), most: c.most, sum: conditionSums{n: c.looks, throttleN: c.n}}
		if got := b.doubts(&Event{CoolantC: c.c}, c.rate); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got.words(), c.want.words())
		}
	}
	if got := doubt(0).words(); got != "" {
		t.Errorf("no doubt is put as %q", got)
	}
	if got, want := (doubtShort | doubtCold).words(), doubtWords[3]+"; "+doubtWords[4]; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
