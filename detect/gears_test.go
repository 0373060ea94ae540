package detect

import (
	"math"
	"testing"
)

// e to the entropy of n equal places is n (Shannon 1948).
func TestPlaces(t *testing.T) {
	for _, n := range []int{1, 5, 40} {
		var g gears
		for i := range 40 * n {
			g.add(20 * math.Exp(3*gearCell*float64(i%n)))
		}
		if got := g.places(); math.Abs(got-float64(n)) > 1e-9 {
			t.Errorf("%d equal places: %v", n, got)
		}
	}
}
