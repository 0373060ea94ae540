package steps

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
)

// course is a made-up drive: what each signal is at a time, s; nil is not read.
type course struct {
	rpm, kmh, throttle, gear func(t float64) float64
	coolant                  float64
	rate                     float64 // readings of engine speed a second; 0: 15
	gap                      [2]float64
}

func flat(v float64) func(float64) float64 { return func(float64) float64 { return v } }

// jump is a value that is another from a time on, over a rise of so long.
func jump(from, to, at, over float64) func(float64) float64 {
	return func(t float64) float64 { return from + (to-from)*min(max((t-at)/over, 0), 1) }
}

// during is a value that is another between two times.
func during(usual, other, from, to, over float64) func(float64) float64 {
	up, down := jump(0, other-usual, from, over), jump(0, other-usual, to, over)
	return func(t float64) float64 { return usual + up(t) - down(t) }
}

// shaking adds a wave of 2 Hz, peak to peak, between two times.
func shaking(of func(float64) float64, rpm, from, to float64) func(float64) float64 {
	return func(t float64) float64 {
		if t < from || t > to {
			return of(t)
		}
		return of(t) + rpm/2*math.Sin(2*math.Pi*2*t)
	}
}

// found pushes a course of so many seconds and returns the steps. Every drive begins with a minute of
// standstill and town, so that idle and the throttle at rest are known.
func (c course) found(seconds float64) []Step {
	w := New()
	push := func(at float64, signal pids.Signal, v float64) {
		w.Push(pids.Sample{At: time.Duration(at * 1e9), ECU: "7E8", Signal: signal, Value: v})
	}
	const before = 20.0
	for t := 0.0; t < before; t += 0.1 {
		push(t, pids.RPM, 800)
		push(t, pids.VSS, 0)
		push(t, pids.TP, 12)
	}
	if c.coolant > 0 {
		push(before, pids.ECT, c.coolant)
	}
	rate := c.rate
	if rate == 0 {
		rate = 15
	}
	n := 0
	for t := 0.0; t < seconds; t += 1 / rate {
		if t > c.gap[0] && t < c.gap[1] {
			continue
		}
		at := before + 5 + t
		push(at, pids.RPM, math.Round(4*c.rpm(t))/4)
		switch n++; n % 3 {
		case 0:
			push(at, pids.VSS, math.Round(c.kmh(t)))
		case 1:
			if c.throttle != nil {
				push(at, pids.TP, math.Round(c.throttle(t)*255/100)*100/255)
			}
		case 2:
			if c.gear != nil {
				push(at, pids.GearAct, c.gear(t))
			}
		}
	}
	w.Finish()
	for i := range w.found {
		w.found[i].Start -= 25 * time.Second
		w.found[i].End -= 25 * time.Second
	}
	return w.Found()
}

// What each course holds. The limits are those of the tests' makers: a release raises engine speed by
// 80 rpm and more within 1.5 s at a throttle within 3 %, at light load by 5 to 10 % (computed for this
// project from a public converter table); gears are 15 to 35 % apart (common practice, no source).
func TestWatch(t *testing.T) {
	for _, c := range courses() {
		var got []Kind
		for _, s := range c.course.found(40) {
			got = append(got, s.Kind)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// holds is a course and the steps in it.
type holds struct {
	name   string
	course course
	want   []Kind
}

// courses are the courses of TestWatch.
func courses() []holds {
	return append(levels(), others()...)
}

// cruise is a cruise, changed.
func cruise(change func(c *course)) course {
	c := course{rpm: flat(1700), kmh: flat(80), throttle: flat(22)}
	change(&c)
	return c
}

// levels are courses about a change of the level of engine speed.
func levels() []holds {
	return []holds{
		{"steady", cruise(func(*course) {}), nil},
		{"release", cruise(func(c *course) { c.rpm = jump(1700, 1830, 20, 0.3) }), []Kind{ClutchRelease}},
		{"release and apply", cruise(func(c *course) { c.rpm = during(1700, 1830, 20, 22, 0.3) }), []Kind{ClutchRelease}},
		{"two releases", cruise(func(c *course) {
			a, b := during(0, 130, 15, 17, 0.3), during(0, 130, 25, 27, 0.3)
			c.rpm = func(t float64) float64 { return 1700 + a(t) + b(t) }
		}), []Kind{ClutchRelease, ClutchRelease}},
		{"a swing that goes on, larger than the change", cruise(func(c *course) { c.rpm = shaking(jump(1700, 1812, 20, 0.1), 170, 15, 30) }), nil},
		{"a swing that goes on, smaller than the change", cruise(func(c *course) { c.rpm = shaking(jump(1700, 1830, 20, 0.3), 60, 10, 35) }), []Kind{ClutchRelease}},
		{"too small", cruise(func(c *course) { c.rpm = jump(1700, 1760, 20, 0.3) }), nil},
		{"too slow", cruise(func(c *course) { c.rpm = jump(1700, 1830, 15, 8) }), nil},
		{"apply alone", cruise(func(c *course) { c.rpm = jump(1830, 1700, 20, 0.3) }), nil},
		{"throttle pressed", cruise(func(c *course) { c.rpm, c.throttle = jump(1700, 1830, 20, 0.3), jump(22, 27, 19.8, 0.2) }), nil},
		{"speed rises with it", cruise(func(c *course) { c.rpm, c.kmh = jump(1700, 1830, 20, 1.5), jump(80, 86.1, 20, 1.5) }), nil},
		{"surge", cruise(func(c *course) {
			c.rpm = func(t float64) float64 { return 1700 + 75*math.Sin(2*math.Pi*0.4*t) }
		}), nil},
		{"shudder begins", cruise(func(c *course) {
			c.rpm = shaking(during(1700, 1790, 20, 26, 0.5), 180, 20, 26)
		}), nil},
		{"slow link", cruise(func(c *course) { c.rpm, c.rate = jump(1700, 1830, 20, 0.3), 3 }), nil},
		{"throttle not read", cruise(func(c *course) { c.rpm, c.throttle = jump(1700, 1830, 20, 0.3), nil }), nil},
		{"town", cruise(func(c *course) { c.rpm, c.kmh = jump(1700, 1830, 20, 0.3), flat(25) }), nil},
		{"lower gear by its size", cruise(func(c *course) { c.rpm = jump(1700, 2250, 20, 0.4) }), []Kind{LowerGear}},
		{"lower gear, reported", cruise(func(c *course) { c.rpm, c.gear = jump(1700, 1930, 20, 0.4), jump(6, 5, 20, 1e-9) }), []Kind{LowerGear}},
		{"the same gear, reported", cruise(func(c *course) { c.rpm, c.gear = jump(1700, 2250, 20, 0.4), flat(6) }), []Kind{ClutchRelease}},
		{"lower gear, throttle follows", cruise(func(c *course) {
			c.rpm, c.gear, c.throttle = jump(1700, 2050, 20, 0.4), jump(6, 5, 20, 1e-9), jump(22, 30, 20, 0.5)
		}), []Kind{LowerGear}},
	}
}

// others are courses about the other steps.
func others() []holds {
	return []holds{
		{"lift", cruise(func(c *course) { c.throttle, c.rpm = jump(22, 12, 20, 0.3), jump(1700, 1650, 20, 1) }), []Kind{ThrottleLift}},
		{"lift of a moving foot", cruise(func(c *course) {
			c.throttle = func(t float64) float64 {
				if t > 20 {
					return 12
				}
				return 22 + 6*math.Sin(t*3)
			}
		}), nil},
		{"full throttle", cruise(func(c *course) {
			c.throttle, c.rpm, c.kmh = during(22, 85, 20, 24, 0.3), jump(1700, 3500, 20.5, 1), jump(80, 100, 20, 5)
		}), []Kind{FullThrottle}},
		{"half throttle", cruise(func(c *course) { c.throttle, c.kmh = during(22, 55, 20, 24, 0.3), jump(80, 90, 20, 5) }), nil},
		{"neutral, reported", cruise(func(c *course) {
			c.throttle, c.gear, c.rpm = jump(22, 12, 20, 0.2), during(6, 0, 21, 30, 1e-9), during(1700, 820, 21, 30, 0.5)
			c.kmh = jump(80, 70, 20, 10)
		}), []Kind{ThrottleLift, NeutralCoast}},
		{"neutral, not reported", cruise(func(c *course) {
			c.throttle, c.rpm, c.kmh = jump(22, 12, 20, 0.2), during(1700, 820, 21, 31, 0.5), jump(80, 66, 20, 11)
		}), []Kind{ThrottleLift, NeutralCoast}},
		{"change of gear with the clutch pressed", cruise(func(c *course) {
			c.throttle, c.rpm = during(22, 12, 20, 21, 0.1), during(1700, 820, 20.2, 21, 0.3)
		}), nil},
		{"coast in gear", cruise(func(c *course) {
			c.throttle, c.kmh = jump(22, 12, 20, 0.2), jump(80, 40, 20, 15)
			c.rpm = func(t float64) float64 { return 1700 * (1 - min(max((t-20)/15, 0), 1)/2) }
		}), []Kind{ThrottleLift}},
		{"cold, converter open", cruise(func(c *course) {
			c.coolant, c.throttle, c.kmh = 20, jump(22, 12, 20, 0.2), jump(60, 35, 20, 10)
			c.rpm = during(1500, 900, 20.3, 31, 0.5)
		}), []Kind{ThrottleLift}},
		{"sweep in park", cruise(func(c *course) {
			c.kmh, c.throttle = flat(0), flat(14)
			c.rpm = func(t float64) float64 { return 800 + 1200*math.Sin(math.Pi*min(max((t-10)/12, 0), 1)) }
		}), []Kind{ParkSweep}},
		{"blip in park", cruise(func(c *course) { c.kmh, c.throttle, c.rpm = flat(0), flat(14), during(800, 2500, 20, 21, 0.4) }), nil},
		{"drives off", cruise(func(c *course) { c.kmh, c.rpm = jump(0, 40, 20, 6), jump(800, 2200, 19.5, 3) }), nil},
	}
}

// The figures of a release that stops a shudder, by how the course is made: 150 rpm up at 20 s in 0.3 s,
// 120 rpm of swing before it and none after.
func TestWatch_Stopped(t *testing.T) {
	c := course{kmh: flat(80), throttle: flat(22), gear: flat(6), rpm: shaking(during(1700, 1850, 20, 23, 0.3), 120, 17, 20)}
	all := c.found(40)
	if len(all) != 1 {
		t.Fatalf("%+v", all)
	}
	s := all[0]
	const tolerance = 0.15 // of a swing: its window holds some of the calm before, or half a cycle more
	if s.Fault != Valid || !s.Calmed() || s.Stopped > 600*time.Millisecond || math.Abs(s.Start.Seconds()-20) > 0.4 {
		t.Errorf("stopped after %v at %v: %s", s.Stopped, s.Start, s.Fault.Words())
	}
	if math.Abs(s.BeforeRPM/120-1) > tolerance || s.AfterRPM > 5 || math.Abs(s.RPMStep/150-1) > tolerance || s.Gear != 6 {
		t.Errorf("%+v", s)
	}
	c.rpm = shaking(during(1700, 1850, 20, 23, 0.3), 120, 17, 30) // a misfire goes on
	all = c.found(40)
	if len(all) != 1 || all[0].Calmed() || all[0].Fault != Valid || math.Abs(all[0].AfterRPM/120-1) > tolerance {
		t.Errorf("goes on: %+v", all)
	}
}

// A step that does not count says why, by the first reason.
func TestWatch_Faults(t *testing.T) {
	base := course{kmh: flat(80), throttle: flat(22), gear: flat(6), rpm: shaking(jump(1700, 1850, 20, 0.3), 120, 17, 20)}
	for _, c := range []struct {
		want   Fault
		change func(c *course)
	}{
		{Valid, func(*course) {}},
		{NotSeenToEnd, func(c *course) { c.gap = [2]float64{22, 30} }},
		{ThrottleMoved, func(c *course) { c.throttle = jump(22, 28, 21.2, 0.1) }},
		{SpeedMoved, func(c *course) { c.kmh = jump(80, 73, 20.4, 1.2) }},
		{NothingShook, func(c *course) { c.rpm = jump(1700, 1850, 20, 0.3) }},
	} {
		x := base
		c.change(&x)
		all := x.found(40)
		if len(all) != 1 || all[0].Fault != c.want {
			t.Errorf("want %q: %+v", c.want.Words(), all)
		}
	}
	for f := Valid + 1; f < faultCount; f++ {
		if f.Words() == "" {
			t.Errorf("fault %d has no words", f)
		}
	}
}

// What the user announced is marked, and only that.
func TestWatch_Armed(t *testing.T) {
	w := New()
	w.Arm(ClutchRelease, 10*time.Second)
	w.Arm(NeutralCoast, 20*time.Second)
	w.Disarm(30 * time.Second)
	w.Disarm(40 * time.Second)
	for _, c := range []struct {
		kind Kind
		at   time.Duration
		want bool
	}{
		{ClutchRelease, 9 * time.Second, false}, {ClutchRelease, 15 * time.Second, true}, {ClutchRelease, 20 * time.Second, false},
		{NeutralCoast, 25 * time.Second, true}, {NeutralCoast, 30 * time.Second, false}, {LowerGear, 15 * time.Second, false},
	} {
		w.keep(Step{Kind: c.kind, Start: c.at})
		if got := w.found[len(w.found)-1].Armed; got != c.want {
			t.Errorf("%s at %v: %v", c.kind, c.at, got)
		}
	}
	if n := len(w.Armed()); n != 2 {
		t.Errorf("%d announcements", n)
	}
}

// Values that are no numbers, times that run back, and an ECU asleep (FFFF) change nothing.
func TestWatch_BadInput(t *testing.T) {
	w := New()
	for i, v := range []float64{math.NaN(), math.Inf(1), 16383.75, 800} {
		w.Push(pids.Sample{At: time.Duration(4-i) * time.Second, Signal: pids.RPM, Value: v})
	}
	w.Push(pids.Sample{At: 0, Signal: pids.RPM, Value: 900})
	w.Push(pids.Sample{At: 0, Signal: "OTHER", Value: 900})
	if n := len(w.in.rpm.All); n != 1 {
		t.Errorf("%d readings kept", n)
	}
	w.Finish()
	if len(w.Found()) != 0 {
		t.Errorf("%+v", w.Found())
	}
}

// Nothing is allocated for a reading.
func BenchmarkPush(b *testing.B) {
	w := New()
	at := time.Duration(0)
	b.ReportAllocs()
	for b.Loop() {
		at += 20 * time.Millisecond
		t := at.Seconds()
		w.Push(pids.Sample{At: at, Signal: pids.RPM, Value: 1700 + 5*math.Sin(9*t)})
		w.Push(pids.Sample{At: at, Signal: pids.VSS, Value: 80})
		w.Push(pids.Sample{At: at, Signal: pids.TP, Value: 22})
	}
}

// A step of engine speed before a release is no shake, nor is what this car always does; a wave is.
func TestWatch_NoWave(t *testing.T) {
	for name, c := range map[string]struct {
		rpm   func(t float64) float64
		shook bool
	}{
		"a wave":            {shaking(during(1700, 1850, 20, 23, 0.3), 120, 17, 20), true},
		"a step":            {func(t float64) float64 { return jump(1850, 1700, 19, 0.1)(t) + jump(0, 150, 20, 0.2)(t) }, false},
		"always does":       {shaking(during(1700, 1850, 40, 43, 0.3), 60, 0, 60), false},
		"always, and stops": {shaking(during(1700, 1850, 40, 43, 0.3), 60, 0, 40), true},
	} {
		all := course{kmh: flat(80), throttle: flat(22), gear: flat(6), rpm: c.rpm}.found(60)
		n := 0
		for i := range all {
			if all[i].Kind == ClutchRelease {
				n++
				if all[i].Shook() != c.shook {
					t.Errorf("%s: %+v", name, all[i])
				}
			}
		}
		if n != 1 {
			t.Errorf("%s: %d releases", name, n)
		}
	}
}
