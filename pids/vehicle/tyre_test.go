package vehicle

import (
	"math"
	"testing"
)

// A 205/55R16 turns 11.7 times a second at 80 km/h, 7.3 at 50, 14.6 at 100 (computed for the
// trade's tables with a rolling radius of 0.96 of the drawn one, ±4 %); a maker's table of
// component rotation speeds (service information, 2000) has 1.14 to 1.17 turns a second for
// every 5 mph, of another tyre.
func TestDriveline_TyreCircumference(t *testing.T) {
	v := Driveline{Tyre: "205/55R16"}
	turns := func(kmh float64) float64 { return kmh / 3.6 / v.TyreCircumference() }
	for kmh, want := range map[float64]float64{50: 7.3, 80: 11.7, 100: 14.6} {
		if got := turns(kmh); math.Abs(got-want) > 0.05 {
			t.Errorf("%v km/h: %.2f turns a second, want %v", kmh, got, want)
		}
	}
	const fiveMPH = 8.04672 // km/h
	if got := turns(fiveMPH); got < 1.14*(1-TyreTolerance) || got > 1.17*(1+TyreTolerance) {
		t.Errorf("%.3f turns a second for 5 mph", got)
	}
	for _, none := range []string{"", "205/55", "205/55R16 91V", "wide", "2055/5R16"} {
		w := Driveline{Tyre: none}
		if got := w.TyreCircumference(); got != 0 {
			t.Errorf("%q rolls %v m", none, got)
		}
	}
}
