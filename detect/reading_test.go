package detect

import (
	"math"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect/series"
	"github.com/judder-obd/judder/pids"
)

// running is a steady engine for 2 s, read every 1/8 s, and what follows; speed is that of the road.
func running(speed float64, then ...[2]float64) *Detector {
	d := newWith(&limits)
	push := func(t, rpm float64) {
		when := time.Duration(t * 1e9)
		d.Push(pids.Sample{At: when, ECU: "7E8", Signal: pids.VSS, Value: speed})
		d.Push(pids.Sample{At: when, ECU: "7E8", Signal: pids.RPM, Value: rpm})
	}
	for i := range 16 {
		push(float64(i)/8, 1700+float64(i%3))
	}
	for _, x := range then {
		push(x[0], x[1])
	}
	return d
}

// Zeros for up to 0.7 s between running readings are a fault of the link, and so is one zero however long
// nothing follows it; an engine takes longer to run down and to start (trade: 0.3 to 0.9 and 0.35 to 0.7 s).
// An engine that was seen to run down, or is cranked after it, stopped at its first zero.
func TestZeros(t *testing.T) {
	for _, c := range []struct {
		name  string
		then  [][2]float64
		stops int
	}{
		{"one", [][2]float64{{2, 0}, {3, 1700}}, 0},
		{"for 0.69 s", [][2]float64{{2, 0}, {2.625, 0}, {2.6875, 1700}}, 0},
		{"for 0.75 s", [][2]float64{{2, 0}, {2.625, 0}, {2.75, 1700}}, 1},
		{"0.69 s apart, and nothing more", [][2]float64{{2, 0}, {2.6875, 0}}, 0},
		{"0.75 s apart", [][2]float64{{2, 0}, {2.75, 0}}, 1},
		{"below 60 rpm", [][2]float64{{2, 59}, {2.75, 59}}, 1},
		{"60 rpm is no zero", [][2]float64{{2, 60}, {2.75, 60}}, 0},
		{"ran down from 399 rpm", [][2]float64{{1.9375, 399}, {2, 0}}, 1},
		{"dropped out at 400", [][2]float64{{1.9375, 400}, {2, 0}}, 0},
		{"then 399 rpm", [][2]float64{{2, 0}, {2.25, 399}}, 1},
		{"then 400", [][2]float64{{2, 0}, {2.25, 400}}, 0},
		{"two faults", [][2]float64{{2, 0}, {2.25, 1700}, {2.75, 0}, {3, 1700}}, 0},
	} {
		d := running(60, c.then...)
		if n := len(d.Stops()); n != c.stops || n == 1 && d.Stops()[0].Start != 2*time.Second {
			t.Errorf("%s: %+v, want %d from 2 s", c.name, d.Stops(), c.stops)
		}
	}
	// The first reading of all is no fault; and the starter is timed from the last zero that was held back: here it
	// turned for 0 to 0.25 s.
	d := newWith(&limits)
	if d.Push(pids.Sample{Signal: pids.RPM}); len(d.Stops()) != 1 {
		t.Errorf("the drive begins with an engine that stands: %+v", d.Stops())
	}
	d = running(0, [][2]float64{{2, 0}, {2.75, 0}, {2.875, 250}, {3, 800}}...)
	if s := d.Stops(); len(s) != 1 || s[0].Kind != StopAutomatic || s[0].End != 2875*time.Millisecond {
		t.Errorf("%+v", s)
	}
	// At the end of the drive zeros that were held back are a stop, and one zero is not.
	for want, then := range [][][2]float64{{{2, 0}}, {{2, 0}, {2.5, 0}}} {
		d := running(60, then...)
		if d.Finish(2500 * time.Millisecond); len(d.Stops()) != want {
			t.Errorf("the drive ends with %v: %+v", then, d.Stops())
		}
	}
	// A stop at 30 km/h and more is that of a hybrid.
	for speed, want := range map[float64]int{29: 0, 30: 1, 60: 1} {
		if got := running(speed, [2]float64{2, 0}, [2]float64{2.75, 0}).conditions.stoppedAtSpeed; got != want {
			t.Errorf("engine stop at %v km/h counts %d times as one at speed", speed, got)
		}
	}
}

// An ECU that slept for a second before the engine ran, in a car that stood, shows an engine that was off;
// one that wakes with the starter turning does so at once. From 16000 rpm on it is the FFFF of a sleeping ECU.
func TestAsleepFirst(t *testing.T) {
	for _, c := range []struct {
		name         string
		asleep, woke float64
		rpm, speed   float64
		stops        int
	}{
		{"a second", 16383.75, 2, 800, 0, 1},
		{"less", 16383.75, 1.875, 800, 0, 0},
		{"starter", 16383.75, 1.125, 250, 0, 1},
		{"60 rpm turn", 16383.75, 1.125, 60, 0, 1},
		{"400 rpm run", 16383.75, 1.125, 400, 0, 0},
		{"at 3 km/h", 16383.75, 2, 800, 3, 1},
		{"rolling", 16383.75, 2, 800, 4, 0},
		{"16000", 16000, 2, 800, 0, 1},
		{"15999", 15999, 2, 800, 0, 0},
	} {
		d := newWith(&limits)
		push := func(t, rpm float64) {
			when := time.Duration(t * 1e9)
			d.Push(pids.Sample{At: when, ECU: "7E8", Signal: pids.VSS, Value: c.speed})
			d.Push(pids.Sample{At: when, ECU: "7E8", Signal: pids.RPM, Value: rpm})
		}
		push(1, c.asleep)
		if c.woke > 1.75 {
			push(1.75, c.asleep)
		}
		push(c.woke, c.rpm)
		stops := d.Stops()
		if len(stops) != c.stops || c.stops == 1 && (stops[0].Start != time.Second || !stops[0].FromStart) {
			t.Errorf("%s: %+v, want %d from 1 s", c.name, stops, c.stops)
		}
	}
}

// The same value again is a repeat of an ECU that refreshes slowly, for a second; where 40 changes had steps
// of 4 rpm and more, an ECU of coarse steps gave it again.
func TestRepeats(t *testing.T) {
	for _, c := range []struct {
		rpm, t    float64
		changes   int
		smallStep float64
		want      bool
	}{
		{800, 10.5, 9, 1, true}, {800, 11, 9, 1, true}, {800, 11.125, 9, 1, false}, {801, 10.5, 9, 1, false},
		{800, 10.5, 40, 4, false}, {800, 10.5, 39, 4, true}, {800, 10.5, 40, 3.75, true},
	} {
		in := newIntake()
		in.lastV, in.newT, in.changes, in.smallStep = 800, 10, c.changes, c.smallStep
		if got := in.repeats(c.t, c.rpm, 1); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
	// An engine that does not run may stand still to the quarter of a turn, and each reading counts; of two of
	// one time the first does.
	for _, c := range []struct {
		then [][2]float64
		want int
	}{{[][2]float64{{2, 400}, {2.125, 400}}, 17}, {[][2]float64{{2, 399}, {2.125, 399}}, 18}, {[][2]float64{{2, 1650}, {2, 1660}}, 17}} {
		if d := running(60, c.then...); d.in.readings != c.want {
			t.Errorf("16 readings and %v: %d count, want %d", c.then, d.in.readings, c.want)
		}
	}
	in := newIntake()
	in.lastV = 800
	for i, v := range []float64{806, 802, 802, 812} {
		in.repeats(float64(i), v, 1)
		in.lastV = v
	}
	if in.changes != 3 || in.smallStep != 4 {
		t.Errorf("%d changes, the smallest %v; want 3 and 4", in.changes, in.smallStep)
	}
}

// The usual interval and its spread follow each reading by a twentieth; a hole counts as three intervals,
// and a spread as the interval itself at most. Worked by hand.
func TestLearnRate(t *testing.T) {
	var in intake
	if in.rate() != 0 {
		t.Errorf("%v a second before the first interval", in.rate())
	}
	for _, c := range []struct{ dt, interval, spread float64 }{
		{0.1, 0.1, 0}, {0.5, 0.11, 0.05}, {0.11, 0.11, 0.0475}, {0.055, 0.10725, 0.0475 + 0.05*(0.05225/0.10725-0.0475)},
	} {
		in.learnRate(c.dt)
		if !(math.Abs(in.interval-c.interval) <= 1e-12) || !(math.Abs(in.spread-c.spread) <= 1e-12) || !(math.Abs(in.rate()*c.interval-1) <= 1e-9) {
			t.Errorf("after %v s: interval %v, spread %v; want %v and %v", c.dt, in.interval, in.spread, c.interval, c.spread)
		}
	}
}

// Of readings at 8 a second, 1 s is no gap of the link and more is, counted from the last time that the engine
// speed came at all, be it the same again, or that a sleeping ECU did. The books are closed at the last new
// reading. At 2 readings a second 2.2 intervals are no gap.
func TestGaps(t *testing.T) {
	type r = [][2]float64
	for _, c := range []struct {
		then     r
		from, to float64 // s, of the gap; 0 for none
	}{
		{r{{2.875, 1650}}, 0, 0}, {r{{3, 1650}}, 1.875, 3}, {r{{2, 1650}, {5, 1651}}, 2, 5},
		{r{{2, 1700}, {2.5, 1700}, {3.5, 1650}}, 0, 0}, {r{{2, 1700}, {2.5, 1700}, {3.625, 1650}}, 1.875, 3.625},
		{r{{2, 0}, {2.75, 0}, {3, 0}, {5, asleep}, {6, 0}}, 0, 0}, {r{{2, 0}, {2.75, 0}, {3, 0}, {5, asleep}, {6.125, 0}}, 3, 6.125},
	} {
		d := running(60, c.then...)
		from, to := 0.0, 0.0
		for _, s := range d.Spans() {
			if s.Reason == LinkGap {
				from, to = s.Start.Seconds(), s.End.Seconds()
			}
		}
		if from != c.from || to != c.to {
			t.Errorf("readings until 1.875 s and %v: gap from %v to %v, want %v to %v", c.then, from, to, c.from, c.to)
		}
		if learnt := d.in.interval != 0.125; len(c.then) == 1 && learnt != (c.to == 0) { // what is no gap counts for the rate
			t.Errorf("readings until 1.875 s and %v: usual interval %v s", c.then, d.in.interval)
		}
	}
	if a, b := limits.gapOf(0.125), limits.gapOf(0.5); a != 1 || b != 1.1 {
		t.Errorf("%v and %v s are no gap, want 1 and 1.1", a, b)
	}
}

// There is a look each 0.2 s, whatever the rounding of the times; readings 0.07 s apart are two, and those
// of an engine that does not run are never averaged; road speed holds for 5 s.
func TestTimes(t *testing.T) {
	d := newWith(&limits)
	for i := range 40 {
		now := time.Duration(i) * 100 * time.Millisecond
		d.Push(pids.Sample{At: now, ECU: "7E8", Signal: pids.RPM, Value: 1700 + float64(i%3)})
		if want := now.Truncate(200 * time.Millisecond); d.State().At != want && i > 1 {
			t.Errorf("at %v the last look is of %v", now, d.State().At)
		}
	}
	for _, c := range []struct {
		next, rpm float64
		n         int
	}{{0.0625, 1700, 1}, {0.07, 1700, 2}, {0.0625, 400, 1}, {0.0625, 399, 2}} {
		in := newIntake()
		in.take(0, 1700, &limits)
		if in.take(c.next, c.rpm, &limits); len(in.rpm.All) != c.n {
			t.Errorf("%v rpm %v s later: %d readings, want %d", c.rpm, c.next, len(in.rpm.All), c.n)
		}
		if up := in.startedUp == c.next; up != (c.rpm < runsRPM) {
			t.Errorf("%v rpm is an engine that starts up: %v", c.rpm, up)
		}
	}
	d.conditions.speed.Add(series.Reading{T: 10, V: 60})
	if a, b := d.speedNow(15), d.speedNow(15.125); a != 60 || !math.IsNaN(b) {
		t.Errorf("%v km/h after 5 s, %v later", a, b)
	}
}
