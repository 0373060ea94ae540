package detect

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect/series"
)

// Observations of a kind that are as near as join are one, from the first start to the last end, with the
// largest swing; those of another kind are their own.
func TestNote(t *testing.T) {
	var s seen
	s.note(SlowSwing, 10, 12, 50, 2.5)
	s.note(LockUpCycling, 11, 13, 90, 2.5)
	s.note(SlowSwing, 14.5, 16, 70, 2.5)
	s.note(SlowSwing, 9, 15, 60, 2.5)
	s.note(SlowSwing, 18.625, 20, 40, 2.5)
	want := []Observation{{seconds(9), seconds(16), SlowSwing, 70}, {seconds(11), seconds(13), LockUpCycling, 90}, {seconds(18.625), seconds(20), SlowSwing, 40}}
	if len(s.all) != 3 || s.all[0] != want[0] || s.all[1] != want[1] || s.all[2] != want[2] || s.count(SlowSwing) != 2 || s.count(GearHunting) != 0 {
		t.Errorf("%+v, want %+v", s.all, want)
	}
	s.finish()
	if s.note(SlowSwing, 20, 21, 40, 2.5); s.count(SlowSwing) != 3 {
		t.Error("what is finished was widened")
	}
}

// Rough running is 20 looks more that move without a wave than that do not, five a second: beyond the limit
// and what is visible in the floor, with a parabola as the best healthy explanation. A wave of r.m.s. 20 has
// 57 rpm peak to peak (2·√2).
func TestObserveRough(t *testing.T) {
	rough := look{rms: 20, limit: 44, usual: 9}
	with := func(change func(*look)) look {
		e := rough
		change(&e)
		return e
	}
	calm := with(func(e *look) { e.rms = 5 })
	for _, c := range []struct {
		name  string
		n     [3]int // looks of this kind, calm ones, and of this kind again
		e     look
		why   Reason
		ended float64 // s before the last look an event ended; 0 for none
		want  int
	}{
		{"20 looks", [3]int{20}, rough, Judged, 0, 1},
		{"19", [3]int{19}, rough, Judged, 0, 0},
		{"with calm ones", [3]int{10, 5, 15}, rough, Judged, 0, 1},
		{"with too many", [3]int{10, 5, 14}, rough, Judged, 0, 0},
		{"calm before is no credit", [3]int{0, 50, 20}, rough, Judged, 0, 1},
		{"57 rpm of 56", [3]int{20}, with(func(e *look) { e.limit = 56 }), Judged, 0, 1},
		{"of 57", [3]int{20}, with(func(e *look) { e.limit = 57 }), Judged, 0, 0},
		{"floor of 9.9", [3]int{20}, with(func(e *look) { e.usual = 9.9 }), Judged, 0, 1}, // 2·2·√2·9.9 = 56
		{"floor of 10.1", [3]int{20}, with(func(e *look) { e.usual = 10.1 }), Judged, 0, 0},
		{"floor not known", [3]int{20}, with(func(e *look) { e.usual = math.NaN() }), Judged, 0, 0},
		{"a step", [3]int{20}, with(func(e *look) { e.fit.healthy = step }), Judged, 0, 0},
		{"shudder", [3]int{20}, with(func(e *look) { e.passed = true }), Judged, 0, 0},
		{"not judged", [3]int{20}, rough, ThrottleMoving, 0, 0},
		{"2.5 s after an event", [3]int{20}, rough, Judged, 2.5, 1},
		{"sooner", [3]int{20}, rough, Judged, 2.375, 0},
	} {
		d := newWith(&limits)
		at := 10.0
		var e look
		if c.ended > 0 {
			d.book.events, d.book.endT = make([]Event, 1), at+float64(c.n[0])/8-c.ended
		}
		for k, n := range c.n {
			for range n {
				if e = c.e; k == 1 {
					e = calm
				}
				at += 0.125
				e.t = at
				observer{d}.observeRough(&e, c.why)
			}
		}
		got := d.Observations()
		if len(got) != c.want || c.want == 1 && (got[0].Start != seconds(at-limits.FloorSpan) || got[0].End != seconds(at) || !(math.Abs(got[0].SwingRPM-20*2*math.Sqrt2) <= 1e-9)) {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

// A load is rough when the engine is 2.2 times as rough there as under the smoothest, usually and now, and
// at least 10 rpm r.m.s.; steps of the ratio within 20 s make it so, too, and do not count.
func TestRoughLoad(t *testing.T) {
	for _, c := range []struct {
		name              string
		smoothest         float64
		times, usual, rms float64 // usual is at least times the smoothest
		stepped           float64 // s ago; 0 for never
		want              bool
	}{
		{"rough", 5, 2.25, 0, 12, 0, true}, {"not much rougher", 5, 2.15, 0, 12, 0, false},
		{"10 rpm", 2, 0, 10, 10, 0, true}, {"less now", 2, 0, 10, 9.9, 0, false}, {"less usually", 2, 0, 9.9, 10, 0, false},
		{"stepped 20 s ago", 2, 0, 10, 10, 20, true}, {"sooner", 2, 0, 10, 10, 19.875, false},
	} {
		d := newWith(&limits)
		for range 100 {
			d.floor.steady.keep(&floorLook{load: 10, size: all(int(math.Log(c.smoothest/sizeLow) / sizeBin)), steady: true})
		}
		e := look{t: 10, rms: c.rms, usual: max(c.usual, c.times*d.floor.smoothest(0, d.th))}
		if c.stepped > 0 {
			e.t = 100
			d.seen.steps.turn(100-c.stepped, 0.1)
		}
		if got := (observer{d}).roughLoad(&e); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// Five changes of the ratio, 20 s apart at most, are a converter clutch that is switched on and off, and
// from ln 0.13 on a gearbox that hunts (trade: gears are 15 to 35 % apart). From 35 km/h on whole km/h
// (SAE J1979) are finer than a change.
func TestObserveSteps(t *testing.T) {
	for _, c := range []struct {
		name    string
		size    float64 // ln
		every   float64 // s
		changes int
		speed   float64
		why     Reason
		prepare func(*Detector)
		kind    ObservationKind
		want    int
	}{
		{"clutch", 0.1, 4, 5, 60, Judged, nil, LockUpCycling, 1},
		{"four changes", 0.1, 4, 4, 60, Judged, nil, 0, 0},
		{"rounding of road speed", 0.05, 4, 5, 60, Judged, nil, 0, 0},
		{"small for a gear", 0.12, 4, 5, 60, Judged, nil, LockUpCycling, 1},
		{"gears", 0.14, 4, 5, 60, RatioStepped, nil, GearHunting, 1},
		{"a gear that was reported throughout", 0.14, 4, 5, 60, Judged, func(d *Detector) {
			d.conditions.reportedGear = gearReport{gear: 4, sinceT: 0, readT: 1000, reported: true}
		}, LockUpCycling, 1},
		{"a floor not learnt", 0.1, 4, 5, 60, FloorNotLearnt, nil, LockUpCycling, 1},
		{"a new load", 0.1, 4, 5, 60, LoadNotLearnt, nil, LockUpCycling, 1},
		{"throttle moving", 0.1, 4, 5, 60, ThrottleMoving, nil, 0, 0},
		{"as fast as a slow wave", 0.1, 1.625, 5, 60, Judged, nil, 0, 0},
		{"slowly", 0.1, 20, 5, 60, Judged, nil, LockUpCycling, 1},
		{"too slowly", 0.1, 20.5, 5, 60, Judged, nil, 0, 0},
		{"at 35 km/h", 0.1, 4, 5, 35, Judged, nil, LockUpCycling, 1},
		{"slower", 0.1, 4, 5, 34, Judged, nil, 0, 0},
		{"a car without gears", 0.1, 4, 5, 60, Judged, func(d *Detector) { d.conditions.stoppedAtSpeed = 2 }, 0, 0},
		{"one look at a slow wave", 0.1, 4, 5, 60, Judged, func(d *Detector) { d.seen.slows = 1 }, LockUpCycling, 1},
		{"two", 0.1, 4, 5, 60, Judged, func(d *Detector) { d.seen.slows = 2 }, 0, 0},
		{"beside shudder", 0.1, 4, 5, 60, Judged, func(d *Detector) { d.book.events, d.book.endT = make([]Event, 1), 1000 }, 0, 0},
	} {
		d := newWith(&limits)
		d.in.rpm.Add(series.Reading{T: 1, V: 2000})
		d.conditions.speed.Add(series.Reading{T: 1, V: c.speed})
		if c.prepare != nil {
			c.prepare(d)
		}
		end := 10 + c.every*(float64(c.changes)+0.5)
		for at := 10.0; at < end; at += 0.125 {
			x := 3.5
			if int((at-10)/c.every)%2 == 1 {
				x += c.size
			}
			d.conditions.ratio.Add(series.Reading{T: at, V: x})
			observer{d}.observeSteps(at, c.why)
		}
		got := d.Observations()
		if len(got) != c.want || c.want == 1 && (got[0].Kind != c.kind || got[0].Start < seconds(10+c.every) || got[0].Start > seconds(10.125+c.every) || !(math.Abs(got[0].SwingRPM-2000*c.size) <= 1)) {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
	// A ratio that is not of now is none.
	d := newWith(&limits)
	d.conditions.speed.Add(series.Reading{T: 1, V: 60})
	d.conditions.ratio.Add(series.Reading{T: 1, V: 3})
	d.seen.steps.turn(1, 0.1)
	if (observer{d}).observeSteps(1.0625, Judged); d.seen.steps.n != 0 {
		t.Error("an old ratio is followed")
	}
}

// A slow swing (trade: 0.3 to 0.8 Hz) is one when three looks, a second apart, see that a slow wave explains
// most of 7 s, with 40 rpm peak to peak and as much as is visible in this car's scatter.
func TestObserveSlow(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	sine := func(hz, peakToPeak float64) func(float64) float64 {
		return func(t float64) float64 { return 1700 + peakToPeak/2*math.Sin(2*math.Pi*hz*t) }
	}
	for _, c := range []struct {
		name    string
		rpm     func(t float64) float64
		usual   float64
		from    float64 // s, first reading
		rate    float64
		stepped float64 // s ago, the last of three steps
		want    bool
	}{
		{"half a Hz", sine(0.5, 100), 4, 0, 10, 0, true},
		{"slowest", sine(0.32, 100), 4, 0, 10, 0, true},
		{"shudder", sine(1.9, 100), 4, 0, 10, 0, false},
		{"44 rpm", sine(0.5, 44), 4, 0, 10, 0, true},
		{"36 rpm", sine(0.5, 36), 4, 0, 10, 0, false},
		{"visible in its scatter", sine(0.5, 100), 16, 0, 10, 0, true}, // 2·2·√2·16 = 90
		{"not visible", sine(0.5, 100), 20, 0, 10, 0, false},           // 113
		{"floor not known", sine(0.5, 100), math.NaN(), 0, 10, 0, false},
		{"scatter", func(float64) float64 { return 1700 + 30*r.NormFloat64() }, 4, 0, 10, 0, false},
		{"wave in scatter", func(t float64) float64 { return sine(0.5, 100)(t) + 30*r.NormFloat64() }, 4, 0, 10, 0, false},
		{"a step", func(t float64) float64 { return 1700 + 100*math.Round(t/14) }, 4, 0, 10, 0, false},
		{"6 s of readings", sine(0.5, 100), 4, 4, 10, 0, true},
		{"5 s of readings", sine(0.5, 100), 4, 5, 10, 0, false},
		{"twenty readings a second", sine(0.5, 100), 4, 0, 20, 0, true},
		{"steps lately", sine(0.5, 100), 4, 0, 10, 6.875, false},
		{"steps 7 s ago", sine(0.5, 100), 4, 0, 10, 7, true},
	} {
		d := newWith(&limits)
		for i := 0; c.from+float64(i)/c.rate <= 10; i++ {
			at := c.from + float64(i)/c.rate
			d.in.rpm.Add(series.Reading{T: at, V: c.rpm(at)})
		}
		if c.stepped > 0 {
			for range 3 {
				d.seen.steps.turn(10-c.stepped, 0.1)
			}
		}
		e := look{t: 10, usual: c.usual}
		for i := range 3 {
			if got := (observer{d}).observeSlow(&e); got != c.want || len(d.Observations()) > 0 != (c.want && i == 2) {
				t.Errorf("%s: look %d: %v, %+v", c.name, i+1, got, d.Observations())
				break
			}
		}
		if ob := d.Observations(); c.rate == 10 && c.want && len(ob) == 1 && (ob[0].Start < 3*time.Second || ob[0].Start > max(seconds(c.from), 3100*time.Millisecond) || ob[0].End != 10*time.Second || ob[0].Kind != SlowSwing) {
			t.Errorf("%s: %+v", c.name, ob)
		}
	}
	// Looks are a second apart, and one that is not judged begins again.
	d := newWith(&limits)
	for i := range 100 {
		d.in.rpm.Add(series.Reading{T: float64(i) / 10, V: sine(0.5, 100)(float64(i) / 10)})
	}
	for i, c := range []struct {
		t     float64
		why   Reason
		slows int
	}{{8, Judged, 1}, {8.875, Judged, 1}, {9, Judged, 2}, {10, Judged, 3}, {10.5, OutsideBand, 3}, {11, OutsideBand, 0}} {
		e := look{t: c.t, usual: 4}
		if (observer{d}).observe(&e, c.why); d.seen.slows != c.slows || d.seen.slow != (c.slows == 3) {
			t.Errorf("look %d: %d looks running, slow %v", i, d.seen.slows, d.seen.slow)
		}
	}
}
