package detect

import (
	"math"

	"github.com/judder-obd/judder/detect/series"
)

// traceSpan is how far back, s, an alarm looks for the beginning of the swing.
const traceSpan = 6

// trace finds start, end and size of the swing of a look that alarms: about each reading, one
// period of the wave is fitted with line and wave; the swing lasts where that wave has more than
// half of its largest height, and its size is the largest, corrected for the ECU's averaging.
func (d *Detector) trace(e *look) {
	hz := e.fit.hz
	r := d.in.rpm.LastOf(maxWindow, max(e.t-traceSpan, d.cut()))
	half := 0.5 / hz
	top, at := 0.0, 0
	for i := range r {
		a := localHeight(r, i, half, hz)
		d.work[i] = series.Reading{T: r[i].T, V: a}
		if r[i].T >= e.t-e.fit.span && a > top {
			top, at = a, i
		}
	}
	first, last, hole := at, at, max(1/hz, 2.5*d.in.interval)
	for i := at; i >= 0 && r[first].T-r[i].T <= hole; i-- {
		if d.work[i].V >= top/2 {
			first = i
		}
	}
	for i := at; i < len(r) && r[i].T-r[last].T <= hole; i++ {
		if d.work[i].V >= top/2 {
			last = i
		}
	}
	e.first, e.last = r[first].T, r[last].T
	sum := 0.0
	for i := first; i <= last; i++ {
		sum += d.work[i].V
	}
	e.size = 2 * sum / float64(last-first+1) / averaged(hz, averagedOver) / max(leastLeft, meanOf(hz, d.in.interval, d.th.Near))
}

// meanOf is the share of a swing that is left in the mean of the readings, an interval apart, that are
// averaged into one: |sin(n·π·f·dt) / (n·sin(π·f·dt))| of n readings.
func meanOf(hz, interval, near float64) float64 {
	n := math.Ceil(near / interval)
	x := math.Pi * hz * interval
	if n < 2 || math.Sin(x) < 1e-6 {
		return 1
	}
	return math.Abs(math.Sin(n*x) / (n * math.Sin(x)))
}

// leastLeft is the smallest share that is made good: where less is left, its scatter is, too (chosen).
const leastLeft = 0.85

// leastShown is the same for the height that decides about an alarm: few readings hide more of a quick
// wave than an ECU does (bench).
const leastShown = 0.6

// averagedOver is how long, s, an ECU is taken to average engine speed (trade: a firing segment to
// a revolution, up to 0.1).
const averagedOver = 0.06

// averagedUpTo is the same for the height that decides about an alarm, s: a quick wave counts as what it
// may have been (trade: up to 0.1; bench: of 674 bursts of 50 to 100 rpm at 10 and 20 readings a second
// 15 more are found, with 34 false alarms in 70 h instead of 28).
const averagedUpTo = 0.08

// leastBeside is how many readings on either side the local fit takes at least; mostHidden is how
// much larger than what the readings show it may find a wave (chosen).
const (
	leastBeside = 3
	mostHidden  = 1.4
)

// localHeight fits line and wave to the readings within half seconds of reading i, and returns the
// height of the wave, rpm.
func localHeight(r []series.Reading, i int, half, hz float64) float64 {
	from, to := i, i
	for from > 0 && (r[i].T-r[from-1].T <= half || i-from < leastBeside) {
		from--
	}
	for to < len(r)-1 && (r[to+1].T-r[i].T <= half || to-i < leastBeside) {
		to++
	}
	var g [waveColumns][waveColumns]float64
	var b [waveColumns]float64
	for _, x := range r[from : to+1] {
		t := x.T - r[i].T
		s, c := math.Sincos(2 * math.Pi * hz * t)
		col := [4]float64{1, t / half, c, s}
		v := x.V - r[i].V
		for j := range 4 {
			b[j] += col[j] * v
			for k := range j + 1 {
				g[j][k] += col[j] * col[k]
			}
		}
	}
	x, _ := solve(&g, &b, 4)
	return min(math.Hypot(x[2], x[3]), mostHidden/2*reach(r[from:to+1]))
}

// reach is from the lowest reading to the highest, rpm.
func reach(r []series.Reading) float64 {
	low, high := series.Range(r)
	return high - low
}

// solve returns g⁻¹·b and bᵀ·g⁻¹·b, the sum of squares that the first cols columns explain, by Cholesky;
// a column that the others already hold gets 0.
func solve(g *[waveColumns][waveColumns]float64, b *[waveColumns]float64, cols int) (x [waveColumns]float64, sum float64) {
	var y [waveColumns]float64
	for j := range cols {
		own, d, v := g[j][j], g[j][j], b[j]
		for k := range j {
			d -= g[j][k] * g[j][k]
			v -= g[j][k] * y[k]
		}
		if d <= 1e-5*own || d <= 1e-9 {
			for i := j; i < cols; i++ {
				g[i][j] = 0
			}
			continue
		}
		root := 1 / math.Sqrt(d)
		g[j][j], y[j] = root, v*root
		sum += y[j] * y[j]
		for i := j + 1; i < cols; i++ {
			s := g[i][j]
			for k := range j {
				s -= g[i][k] * g[j][k]
			}
			g[i][j] = s * root
		}
	}
	for j := cols - 1; j >= 0; j-- {
		v := y[j]
		for k := j + 1; k < cols; k++ {
			v -= g[k][j] * x[k]
		}
		x[j] = v * g[j][j]
	}
	return x, sum
}
