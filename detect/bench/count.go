package bench

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Count is hits among tries.
type Count struct{ Hit, Of int }

func (c Count) add(hit bool) Count {
	c.Of++
	if hit {
		c.Hit++
	}
	return c
}

// String gives share, count and the exact 95 % interval.
func (c Count) String() string {
	if c.Of == 0 {
		return "–"
	}
	lo, hi := Interval(c.Hit, c.Of)
	return fmt.Sprintf("%.3f (%d/%d, %.2f–%.2f)", float64(c.Hit)/float64(c.Of), c.Hit, c.Of, lo, hi)
}

// Interval returns the exact two-sided 95 % interval of a share (Clopper and Pearson 1934).
func Interval(hit, of int) (low, high float64) {
	low, high = 0, 1
	if hit > 0 {
		low = distuv.Beta{Alpha: float64(hit), Beta: float64(of - hit + 1)}.Quantile(0.025)
	}
	if hit < of {
		high = distuv.Beta{Alpha: float64(hit + 1), Beta: float64(of - hit)}.Quantile(0.975)
	}
	return low, high
}

// RateInterval returns the exact two-sided 95 % interval of the mean of which n events came
// (Garwood 1936, by the chi-square distribution).
func RateInterval(n int) (low, high float64) {
	if n > 0 {
		low = distuv.ChiSquared{K: float64(2 * n)}.Quantile(0.025) / 2
	}
	return low, distuv.ChiSquared{K: float64(2*n + 2)}.Quantile(0.975) / 2
}

// Quantile returns the q-quantile of x; NaN of none.
func Quantile(x []float64, q float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	x = slices.Clone(x)
	slices.Sort(x)
	return x[int(q*float64(len(x)-1)+0.5)]
}

func absolute(x []float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = math.Abs(v)
	}
	return out
}
