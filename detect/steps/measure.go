package steps

import (
	"math"
	"slices"

	"github.com/judder-obd/judder/detect/series"
)

// What a step did to the swing is measured over so long, and from so many readings at least.
const (
	swingOver  = 1.6 // s: a cycle and a half at 1 Hz, the slowest shudder
	briefOver  = 0.8 // s: how soon it stopped
	swingLeast = 6   // readings
	briefLeast = 10  // readings of the short time, for the swing before
	settleOver = 0.3 // s after a change of level, which is no swing
	afterOver  = 2.2 // s after a step until it is weighed
)

// between are the readings of a track from one time to another.
func between(k *series.Track, from, to float64) []series.Reading {
	r := k.Since(from)
	n, _ := slices.BinarySearchFunc(r, to, func(x series.Reading, t float64) int {
		if x.T <= t {
			return -1
		}
		return 1
	})
	return r[:n]
}

// mean of the values of readings.
func mean(r []series.Reading) (m float64, n int) {
	for _, x := range r {
		m += x.V
	}
	return m / float64(max(len(r), 1)), len(r)
}

// spread is the range of the readings of a track from one time to another, with the value that held
// at the first.
func spread(k *series.Track, from, to float64) float64 {
	r := between(k, from, to)
	before := len(k.All) - len(k.Since(from))
	low, high := math.Inf(1), math.Inf(-1)
	for _, x := range r {
		low, high = min(low, x.V), max(high, x.V)
	}
	if before > 0 && from-k.All[before-1].T < gapAfter {
		low, high = min(low, k.All[before-1].V), max(high, k.All[before-1].V)
	}
	return max(high-low, 0)
}

// swing is the swing of readings about a parabola, rpm peak to peak of a wave of their r.m.s.; NaN
// where there are too few.
func swing(r []series.Reading) float64 {
	n := float64(len(r))
	if len(r) < swingLeast {
		return nan()
	}
	mid, half := (r[0].T+r[len(r)-1].T)/2, max((r[len(r)-1].T-r[0].T)/2, 1e-3)
	var g [3][3]float64
	var b [3]float64
	left := 0.0
	for _, x := range r {
		u, v := (x.T-mid)/half, x.V-r[0].V
		col := [3]float64{1, u, u * u}
		for i := range 3 {
			b[i] += col[i] * v
			for j := range 3 {
				g[i][j] += col[i] * col[j]
			}
		}
		left += v * v
	}
	left -= explained(g, b)
	return 2 * math.Sqrt2 * math.Sqrt(max(left, 0)/(n-3))
}

// explained is bᵀ·g⁻¹·b by Cholesky; what another column already holds counts nothing.
func explained(g [3][3]float64, b [3]float64) (sum float64) {
	var l [3][3]float64
	var y [3]float64
	for j := range 3 {
		d, v := g[j][j], b[j]
		for k := range j {
			d -= l[j][k] * l[j][k]
			v -= l[j][k] * y[k]
		}
		if d < 1e-9*g[0][0] {
			continue
		}
		l[j][j] = math.Sqrt(d)
		y[j] = v / l[j][j]
		sum += y[j] * y[j]
		for i := j + 1; i < 3; i++ {
			s := g[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			l[i][j] = s / l[j][j]
		}
	}
	return sum
}
