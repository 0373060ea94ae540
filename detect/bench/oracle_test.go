package bench

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The oracle finds sines of 80 rpm in a scatter of 8, by formula, and none in scatter, a parabola, a
// slow wave or a step.
func TestOracle(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for _, c := range []struct {
		what        string
		of          func(t float64) float64
		least, most int
	}{
		{"scatter", func(float64) float64 { return 0 }, 0, 4},
		{"parabola", func(t float64) float64 { return 60*t - 30*t*t }, 0, 4},
		{"slow wave", func(t float64) float64 { return 60 * math.Sin(2*math.Pi*0.5*t) }, 0, 6},
		{"step", func(t float64) float64 { return 90 * math.Copysign(1, t-0.2) }, 0, 6},
		{"2 Hz", func(t float64) float64 { return 40 * math.Sin(2*math.Pi*2*t) }, 97, 100},
		{"4 Hz", func(t float64) float64 { return 40 * math.Sin(2*math.Pi*4*t) }, 95, 100},
	} {
		found := 0
		for range 100 {
			var at, rpm []float64
			for i := range 26 {
				x := 0.1*float64(i) - 1.3 + 0.01*r.NormFloat64()
				at, rpm = append(at, x), append(rpm, 1700+c.of(x)+8*r.NormFloat64())
			}
			if waves(at, rpm, 64) {
				found++
			}
		}
		if found < c.least || found > c.most {
			t.Errorf("%s: found in %d of 100, want %d to %d", c.what, found, c.least, c.most)
		}
	}
}
