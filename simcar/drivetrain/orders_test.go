package drivetrain

import (
	"math"
	"testing"
	"time"

	"gonum.org/v1/gonum/floats/scalar"
)

// A tyre of 205/55R16 rolls on about 0.96 of its radius: (16·25.4 + 2·205·0.55)/2 mm.
func rolling205() Car { return Car{TyreRadiusM: 0.96 * (16*25.4 + 2*205*0.55) / 2000} }

// One misfiring cylinder swings at rpm/120; an engine fires at half its cylinders a turn
// (arithmetic; Hz = rpm/60 is the trade's teaching, trade press on vibration, March 2018).
func TestOrders_Engine(t *testing.T) {
	for _, c := range []struct{ rpm, half, four, six float64 }{
		{1200, 10, 40, 60}, {1500, 12.5, 50, 75}, {1700, 14.2, 56.7, 85}, {2000, 16.7, 66.7, 100},
	} {
		for what, got := range map[string][2]float64{
			"half order": {HalfOrderHz(c.rpm), c.half}, "firing of 4": {FiringHz(c.rpm, 4), c.four}, "firing of 6": {FiringHz(c.rpm, 6), c.six},
		} {
			if math.Abs(got[0]-got[1]) > 0.051 {
				t.Errorf("%s at %v rpm: %.2f Hz, want %v", what, c.rpm, got[0], got[1])
			}
		}
	}
}

// First order of a tyre of 205/55R16: 7.3, 8.7, 11.7, 14.6 Hz at 50, 60, 80, 100 km/h
// (computed for this project, ±4 %); a maker's table of rotation speeds (service information
// 2000) says 1.14 to 1.17 Hz for each 5 mph, of larger tyres. The propeller shaft behind a
// final drive of 2.5 to 4: 29 to 47 Hz at 80 km/h.
func TestOrders_Wheels(t *testing.T) {
	car := rolling205()
	for _, c := range []struct{ kmh, hz float64 }{{50, 7.3}, {60, 8.7}, {80, 11.7}, {100, 14.6}} {
		if got := car.TyreHz(c.kmh); !scalar.EqualWithinRel(got, c.hz, 0.04) {
			t.Errorf("tyre at %v km/h: %.2f Hz, want %v", c.kmh, got, c.hz)
		}
	}
	if got := car.TyreHz(5 * 1.609344); got < 1.14 || got > 1.25 {
		t.Errorf("%.3f Hz for each 5 mph, want a little over 1.14 to 1.17", got)
	}
	for _, c := range []struct{ final, hz float64 }{{2.5, 29}, {4, 47}} {
		car.FinalDrive = c.final
		if got := car.PropshaftHz(80); !scalar.EqualWithinRel(got, c.hz, 0.04) {
			t.Errorf("propeller shaft behind %v at 80 km/h: %.1f Hz, want %v", c.final, got, c.hz)
		}
	}
}

// Every wheel that can be drawn turns 9 to 13 times a second at 80 km/h: beside misfire and
// shudder (published bands: 12–17 and 8–25 Hz), and faster than any OBD rate resolves.
func TestOrders_TyreShakeIsThere(t *testing.T) {
	d, rpm := scriptComponent(4, TyreShake, 5*minute)
	car, checked := d.Car(), 0
	for _, s := range d.Truth().LookAlikes {
		if (s.End - s.Start).Seconds() < 8 {
			continue
		}
		from, to := int(s.Start/fastStep), int(s.End/fastStep)
		turns := 0.0
		for i := from; i < to; i++ {
			if state := d.At(time.Duration(i) * fastStep); state.LockShare > 0.5 {
				turns += car.TyreHz(state.SpeedKMH) * fastDT
			}
		}
		checked++
		if got := float64(upward(rpm[from:to])); math.Abs(got-turns) > 2+0.02*turns {
			t.Errorf("%v: %v waves, the wheel turned %.0f times", s.Start, got, turns)
		}
	}
	if checked == 0 {
		t.Error("no stretch of tyre shake")
	}
}
