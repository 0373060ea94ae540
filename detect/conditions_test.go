package detect

import (
	"math"
	"testing"

	"github.com/judder-obd/judder/detect/series"
	"github.com/judder-obd/judder/pids"
)

// at is readings of one signal: time, value, time, value.
func at(pairs ...float64) (out []series.Reading) {
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, series.Reading{T: pairs[i], V: pairs[i+1]})
	}
	return out
}

// conditionsOf takes readings of throttle, pedal and road speed.
func conditionsOf(throttle, pedal, speed []series.Reading) *conditions {
	r := newConditions()
	for _, x := range throttle {
		r.throttle.take(x, 0)
	}
	for _, x := range pedal {
		r.pedal.take(x, 0)
	}
	for _, x := range speed {
		r.speed.Add(x)
		r.noteRest(x, &limits)
	}
	return &r
}

// The throttle is the driver's demand, unless it is a diesel's intake flap: it moves less than 3 % while the
// pedal moves more than 12 % or road speed changes by more than 25 km/h (chosen).
func TestDemand_OfWhich(t *testing.T) {
	for _, c := range []struct {
		name                   string
		throttle, pedal, speed []series.Reading
		want                   string
	}{
		{"none", nil, nil, at(0, 60), ""},
		{"throttle alone", at(0, 80, 1, 80), nil, at(0, 60), "throttle"},
		{"pedal alone", nil, at(0, 20), at(0, 60), "pedal"},
		{"both rest", at(0, 80, 1, 80), at(0, 20, 1, 32), at(0, 40, 1, 65), "throttle"},
		{"only the pedal moves", at(0, 80, 1, 82.9), at(0, 20, 1, 32.1), at(0, 60), "pedal"},
		{"the throttle moves, too", at(0, 80, 1, 83), at(0, 20, 1, 33), at(0, 60), "throttle"},
		{"the car moves", at(0, 80, 1, 82.9), at(0, 20, 1, 20), at(0, 40, 1, 65.1), "pedal"},
		{"both move", at(0, 80, 1, 83), at(0, 20, 1, 20), at(0, 40, 1, 70), "throttle"},
	} {
		r := conditionsOf(c.throttle, c.pedal, c.speed)
		want := map[string]*demandTrack{"throttle": &r.throttle, "pedal": &r.pedal}[c.want]
		if got := r.demand(); got != want {
			t.Errorf("%s: not the %s", c.name, c.want)
		}
	}
}

// Each condition of a cruise, at its limit and beside it: 30 to 115 km/h, within 3 km/h for 2 s and within
// 2 where there is no throttle, read at most 5 s ago; throttle within 3.5 % for 1.5 s. Times and values are
// exact in binary.
func TestMask_Limits(t *testing.T) {
	steady := at(8, 20, 9, 20, 10, 20)
	for _, c := range []struct {
		name            string
		throttle, speed []series.Reading
		want            Reason
	}{
		{"slowest", steady, at(10, 30), Judged}, {"too slow", steady, at(10, 29), OutsideBand},
		{"fastest", steady, at(10, 115), Judged}, {"too fast", steady, at(10, 116), OutsideBand},
		{"speed read 5 s ago", steady, at(5, 60), Judged}, {"longer ago", steady, at(4.875, 60), NoRoadSpeed}, {"never", steady, nil, NoRoadSpeed},
		{"3 km/h", steady, at(8, 60, 10, 63), Judged}, {"more", steady, at(8, 60, 10, 64), SpeedChanging},
		{"more, 2 s ago", steady, at(8, 64, 8.125, 63, 10, 60), SpeedChanging}, {"more, longer ago", steady, at(7, 64, 8, 63, 10, 60), SpeedChanging}, // it held until 8 s
		{"more, and over", steady, at(7, 64, 7.875, 63, 8, 63, 10, 60), Judged},
		{"2 km/h without throttle", nil, at(8, 60, 10, 62), Judged}, {"more", nil, at(8, 60, 10, 63), SpeedChanging},
		{"3.5 %", at(8.5, 20, 10, 23.5), at(10, 60), Judged}, {"more", at(8.5, 20, 10, 23.625), at(10, 60), ThrottleMoving},
		{"more, and over", at(8, 24, 8.375, 20, 8.5, 20, 10, 20), at(10, 60), Judged},
		{"moving and faster", at(8.5, 20, 10, 24), at(8, 60, 10, 64), ThrottleMoving},
	} {
		r := conditionsOf(c.throttle, nil, c.speed)
		if got := r.maskAt(10, &limits); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
		if moves := r.demandMoves(10, &limits); moves != (c.want == ThrottleMoving) {
			t.Errorf("%s: the throttle moves: %v", c.name, moves)
		}
	}
}

// The throttle is closed within 2.3 % of its lowest, once it is known that it was: the car stood or fell by
// 3 km/h in 2 s, and it has moved by twice as much. Where only the pedal is read, a car that holds its speed
// within 1.5 km/h for 4 s, or within 3 with an engine that pulls, is in cruise control.
func TestClosed(t *testing.T) {
	stood := at(0, 0, 1, 0, 2, 0, 5, 60, 6, 60, 10, 60)
	for _, c := range []struct {
		name                   string
		throttle, pedal, speed []series.Reading
		load                   float64 // NaN when not read
		want                   bool
	}{
		{"closed", at(0, 14, 5, 30, 10, 14), nil, stood, 30, true},
		{"2.25 % open", at(0, 14, 5, 30, 10, 16.25), nil, stood, 30, true},
		{"2.5 % open", at(0, 14, 5, 30, 10, 16.5), nil, stood, 30, false},
		{"moved by less than 4.6 %", at(0, 14, 5, 18.5, 10, 14), nil, stood, 30, false},
		{"moved by 4.6 %", at(0, 0, 5, 4.6, 10, 0), nil, stood, 30, true},
		{"2.3 % open", at(0, 0, 5, 30, 10, 2.3), nil, stood, 30, false},
		{"moved by more", at(0, 14, 5, 18.625, 10, 14), nil, stood, 30, true},
		{"never stood", at(0, 14, 5, 30, 10, 14), nil, at(0, 60, 1, 60, 2, 60, 10, 60), 30, false},
		{"stood for two readings", at(0, 14, 5, 30, 10, 14), nil, at(0, 0, 1, 0, 7, 60, 10, 60), 30, true},
		{"stood at 5 km/h", at(0, 14, 5, 30, 10, 14), nil, at(0, 5, 1, 5, 2, 5, 7, 6, 10, 7), 30, false},
		{"stood at 4", at(0, 14, 5, 30, 10, 14), nil, at(0, 4, 1, 4, 2, 4, 7, 6, 10, 7), 30, true},
		{"slowed by 3 km/h in 2 s", at(0, 14, 5, 30, 10, 14), nil, at(0, 60, 1, 57, 2, 57, 10, 57), 30, true},
		{"by 2", at(0, 14, 5, 30, 10, 14), nil, at(0, 60, 1, 58, 2, 58, 10, 58), 30, false},
		{"one low reading", at(0, 14, 5, 30, 10, 14), nil, at(0, 60, 1, 0, 2, 60, 10, 60), 30, false},
		{"slowed in a gap", at(0, 14, 5, 30, 10, 14), nil, at(0, 60, 7, 50, 7.5, 50, 10, 50), 30, false},
		{"no demand", nil, nil, stood, 30, false},
		{"cruise control", nil, at(0, 0, 2, 30, 5, 0, 10, 0), stood, 30, false},
		{"the engine just pulls", nil, at(0, 0, 2, 30, 5, 0, 10, 0), stood, 12, false},
		{"it does not", nil, at(0, 0, 2, 30, 5, 0, 10, 0), stood, 11.9, true},
		{"load not read", nil, at(0, 0, 2, 30, 5, 0, 10, 0), stood, math.NaN(), false},
		{"pedal left 4 s ago", nil, at(0, 0, 2, 30, 5.75, 30, 5.875, 0, 6, 0, 10, 0), stood, 30, false},
		{"pedal 2.3 % on", nil, at(0, 0, 2, 30, 5.75, 2.3, 6, 2.3, 10, 0), stood, 30, true},
		{"pedal left just now", nil, at(0, 0, 2, 30, 6.5, 30, 7, 0, 10, 0), stood, 30, true},
		{"slows by 1.5 km/h", nil, at(0, 0, 2, 30, 5, 0, 10, 0), at(0, 0, 1, 0, 2, 0, 5, 60, 6, 60, 10, 58.5), math.NaN(), false},
		{"by 2", nil, at(0, 0, 2, 30, 5, 0, 10, 0), at(0, 0, 1, 0, 2, 0, 5, 60, 6, 60, 10, 58), math.NaN(), true},
		{"pulls, and slows by 3 km/h", nil, at(0, 0, 2, 30, 5, 0, 10, 0), at(0, 0, 1, 0, 2, 0, 5, 60, 6, 60, 10, 57), 30, false},
		{"by 3.5", nil, at(0, 0, 2, 30, 5, 0, 10, 0), at(0, 0, 1, 0, 2, 0, 5, 60, 6, 60, 10, 56.5), 30, true},
		{"with a closed throttle there is none", at(0, 14, 5, 30, 10, 14), at(0, 0, 2, 30, 5, 0, 10, 0), stood, 30, true},
	} {
		r := conditionsOf(c.throttle, c.pedal, c.speed)
		r.load, r.hasLoad = series.Reading{T: 10, V: c.load}, !math.IsNaN(c.load)
		if r.closed(10, &limits) != c.want {
			t.Errorf("%s: closed %v", c.name, !c.want)
		}
		if why := r.maskAt(10, &limits); c.want && r.speed.All[len(r.speed.All)-1].V >= CruiseFromKMH && why != ClosedThrottle {
			t.Errorf("%s: %v", c.name, why)
		}
	}
}

// How hard the engine pulls is its load while that is fresh, 5 s, else the driver's demand, else unknown.
func TestPull(t *testing.T) {
	for _, c := range []struct {
		age      float64 // s, of the load
		hasLoad  bool
		throttle []series.Reading
		want     float64
	}{{0, true, at(0, 20), 40}, {5, true, at(0, 20), 40}, {5.125, true, at(0, 20), 20}, {0, false, at(0, 20), 20}, {9, true, nil, 0}} {
		r := conditionsOf(c.throttle, nil, nil)
		r.load, r.hasLoad = series.Reading{T: 10 - c.age, V: 40}, c.hasLoad
		if got := r.pull(10, &limits); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}

// A gear steps by 15 to 35 % and a converter clutch by less (trade): ln 0.14 within a second decides, up or
// down, and a car that does not move has no ratio.
func TestRatioStepped(t *testing.T) {
	for _, c := range []struct {
		step, after float64
		want        bool
	}{{0.13, 0.5, false}, {-0.13, 0.5, false}, {0.15, 0.5, true}, {-0.15, 0.5, true}, {0.15, 1, true}, {0.15, 1.125, false}} {
		r := conditionsOf(nil, nil, at(9, 60))
		if r.ratioStepped(10, 1700, &limits) {
			t.Error("the first ratio is a step")
		}
		if got := r.ratioStepped(10+c.after, 1700*math.Exp(c.step), &limits); got != c.want {
			t.Errorf("ln %v after %v s: %v", c.step, c.after, got)
		}
	}
	for _, c := range []struct {
		rpm, speed float64
		n          int
	}{{1, 1, 1}, {0.5, 60, 0}, {1700, 0.5, 0}, {1700, 60, 1}} {
		r := conditionsOf(nil, nil, at(9, c.speed))
		if r.ratioStepped(10, c.rpm, &limits); len(r.ratio.All) != c.n {
			t.Errorf("%v rpm at %v km/h: %d ratios, want %d", c.rpm, c.speed, len(r.ratio.All), c.n)
		} else if c.n == 1 && !(math.Abs(math.Exp(r.ratio.All[0].V)-c.rpm/c.speed) <= 1e-9) {
			t.Errorf("%v rpm at %v km/h: ln ratio %v", c.rpm, c.speed, r.ratio.All[0].V)
		}
	}
}

// Engine speed is not tied to road speed when the ratio moved for more than a quarter of a minute of steady
// driving at least, or the engine stopped at cruise speed twice.
func TestNotTied(t *testing.T) {
	for _, c := range []struct {
		steady, moved float64 // s
		stops         int
		want          bool
	}{{60, 15, 0, false}, {60, 15.125, 0, true}, {59.875, 30, 0, false}, {200, 50.125, 0, true}, {200, 50, 1, false}, {0, 0, 2, true}} {
		r := newConditions()
		r.countTied(c.moved, true)
		r.countTied(c.steady-c.moved, false)
		if r.stoppedAtSpeed = c.stops; r.notTied(&limits) != c.want {
			t.Errorf("%+v: not tied %v", c, !c.want)
		}
	}
}

// A step of the throttle rings (here 180 rpm at 2 Hz that fades within about a second; made up). Made at 29 km/h,
// just before the band, it is no shudder at 30 either.
func TestCut_BelowTheBand(t *testing.T) {
	const stepped, faster = 40, 41.8 // s
	for _, slow := range []float64{29, 33} {
		samples := cruise(60, 20, func(t float64) float64 {
			if t < stepped {
				return 0
			}
			return 90 * math.Exp(-(t-stepped)/0.8) * math.Sin(2*math.Pi*2*(t-stepped))
		})
		for i := range samples {
			switch s, t := &samples[i], samples[i].At.Seconds(); {
			case s.Signal == pids.VSS && s.Value > 0 && t < faster:
				s.Value = slow
			case s.Signal == pids.VSS && s.Value > 0:
				s.Value = slow + 1
			case s.Signal == pids.TP && t > stepped:
				s.Value = 26
			}
		}
		if e := run(samples).Events(); len(e) > 0 {
			t.Errorf("from %v km/h: %+v", slow, e)
		}
	}
}

// Where engine speed comes once in 1.05 s, too few readings are the reason, and not that there are none.
func TestReasonOfASlowLink(t *testing.T) {
	d := run(cruise(210, 1/1.05, func(float64) float64 { return 0 }))
	for _, s := range d.Spans() {
		if s.Reason == LinkGap {
			t.Errorf("gap from %v to %v", s.Start, s.End)
		}
	}
	if why := d.State().Reason; why != TooFewReadings {
		t.Errorf("%v", why)
	}
}
