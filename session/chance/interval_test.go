package chance

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// The interval by gonum's beta distribution, as the textbooks write it: the lower limit is the 2.5 %
// point of Beta(k, n-k+1), the upper one the 97.5 % point of Beta(k+1, n-k).
func TestInterval(t *testing.T) {
	for n := 1; n <= 40; n++ {
		for k := 0; k <= n; k++ {
			low, high := 0.0, 1.0
			if k > 0 {
				low = distuv.Beta{Alpha: float64(k), Beta: float64(n - k + 1)}.Quantile(0.025)
			}
			if k < n {
				high = distuv.Beta{Alpha: float64(k + 1), Beta: float64(n - k)}.Quantile(0.975)
			}
			if gotLow, gotHigh := Interval(k, n); math.Abs(gotLow-low) > 1e-6 || math.Abs(gotHigh-high) > 1e-6 {
				t.Errorf("%d of %d: %.7f to %.7f, gonum %.7f to %.7f", k, n, gotLow, gotHigh, low, high)
			}
		}
	}
	// none of n: 1 - 0.025^(1/n), by hand; 8 passes without shudder leave up to 36.9 %.
	if _, high := Interval(0, 8); math.Abs(high-0.3694) > 0.0001 {
		t.Errorf("0 of 8: up to %.4f", high)
	}
	if low, high := Interval(0, 0); low != 0 || high != 1 {
		t.Errorf("nothing tried: %g to %g", low, high)
	}
}
