package detect

import (
	"math"

	"github.com/judder-obd/judder/detect/series"
)

// mostReadings is the most readings of a window; windows with more are thinned. Readings are
// 45 ms apart at least, so that the longest window of the evidence has 95.
const mostReadings = 128

// mostSteps is how many steps may explain a window instead of a wave.
const mostSteps = 3

// window is a stretch of readings without its parabola, ready to be explained by waves and steps,
// all by least squares on the true times. It holds scratch memory only.
type window struct {
	n        int
	span     float64                              // s from the first reading to the last
	total    float64                              // sum of squares about the parabola
	fit      [4]float64                           // coefficients of the wave that was solved for last
	t, v     [mostReadings]float64                // t from −1 to 1; v whitened, without the parabola
	p        [3 + mostSteps][mostReadings]float64 // orthonormal: 1, t, t², and the steps found
	new, old [mostReadings]float64                // whitening: the factors of a value and of the one before
	c, s     [mostReadings]float64                // cos and sin at the present frequency
	dc, ds   [mostReadings]float64                // rotation to the next frequency
	left     [mostReadings]float64                // what the steps leave
}

// shape is the shape of a wave: two columns, cos and sin, and two more for the others.
type shape uint8

const (
	plain    shape = iota
	drifting       // with t·cos and t·sin: amplitude and phase may drift
	harmonic       // with cos and sin of twice the frequency: slow to let go and quick to grab
)

// wave is a wave that explains a window.
type wave struct {
	hz   float64
	part float64 // sum of squares that it explains
}

// load takes the readings of a window, whitens them and takes their parabola out. Scatter of engine
// speed has a memory (an Ornstein-Uhlenbeck process): of a reading a time dt behind another, the part
// ρ = exp(−dt/memory) of the other's scatter is known. What is new in it,
// (x − ρ·x′)/√(1 − ρ²), is independent; every column is treated alike.
func (w *window) load(r []series.Reading, memory float64) {
	thin := (len(r) + mostReadings - 1) / mostReadings
	first, last := r[0].T, r[len(r)-1].T
	w.span = max(last-first, 1e-9)
	w.n = 0
	for i := 0; i < len(r); i += thin {
		t := 2*(r[i].T-first)/w.span - 1
		w.t[w.n], w.v[w.n] = t, r[i].V-r[0].V
		w.p[0][w.n], w.p[1][w.n], w.p[2][w.n] = 1, t, t*t
		w.new[w.n], w.old[w.n] = 1, 0
		if w.n > 0 {
			rho := math.Exp(-(t - w.t[w.n-1]) * w.span / 2 / memory)
			w.new[w.n] = 1 / math.Sqrt(1-rho*rho)
			w.old[w.n] = rho * w.new[w.n]
		}
		w.n++
	}
	w.whiten(w.v[:w.n])
	for k := range 3 {
		p := w.p[k][:w.n]
		w.whiten(p)
		for j := range k {
			w.takeOut(p, j)
		}
		scale(p)
		w.takeOut(w.v[:w.n], k)
	}
	w.total = dot(w.v[:w.n], w.v[:w.n])
}

// whiten leaves what is new in each value.
func (w *window) whiten(x []float64) {
	for i := len(x) - 1; i > 0; i-- {
		x[i] = w.new[i]*x[i] - w.old[i]*x[i-1]
	}
}

// scale makes the sum of squares 1.
func scale(x []float64) {
	k := math.Sqrt(dot(x, x))
	if k > 1e-9 {
		k = 1 / k
	} else {
		k = 0
	}
	for i := range x {
		x[i] *= k
	}
}

// takeOut subtracts from x its part along column k.
func (w *window) takeOut(x []float64, k int) {
	p := w.p[k][:len(x)]
	a := dot(p, x)
	for i := range x {
		x[i] -= a * p[i]
	}
}

func dot(a, b []float64) (sum float64) {
	for i, x := range a {
		sum += x * b[i]
	}
	return sum
}

// swing returns the peak to peak of a wave, were it even all over the window.
func (w *window) swing(hz float64, kind shape) float64 {
	w.solveFor(hz, kind)
	return w.height(kind)
}

// solveFor fits the wave of a frequency.
func (w *window) solveFor(hz float64, kind shape) {
	w.aim(hz, 0)
	w.explained(kind)
}

// sineRatio is the peak to peak of a sine over its r.m.s.
const sineRatio = 2 * math.Sqrt2

// gridStep is the step of the search over frequency, as a share of what a window resolves, 1/span.
// A wave between two steps loses 2 % of its sum of squares.
const gridStep = 0.25

// best returns the wave between two frequencies, Hz, that explains most.
func (w *window) best(low, high float64, kind shape) (top wave) {
	if w.n < 4 || w.total == 0 {
		return wave{hz: low}
	}
	step := gridStep / w.span
	w.aim(low, step)
	for hz := low; hz <= high+1e-9; hz += step {
		if part := w.explained(kind); part > top.part {
			top = wave{hz, part}
		}
		w.turn()
	}
	return top
}

// aim sets cos and sin to a frequency, and the rotation to the next one.
func (w *window) aim(hz, step float64) {
	for i := range w.n {
		x := math.Pi * w.span * w.t[i]
		w.s[i], w.c[i] = math.Sincos(x * hz)
		w.ds[i], w.dc[i] = math.Sincos(x * step)
	}
}

// turn goes on to the next frequency.
func (w *window) turn() {
	for i := range w.n {
		c, s := w.c[i], w.s[i]
		w.c[i] = c*w.dc[i] - s*w.ds[i]
		w.s[i] = s*w.dc[i] + c*w.ds[i]
	}
}

// explained solves the normal equations at the present frequency. The parabola is out of v, and is
// taken out of the columns here: G = XᵀX − (PᵀX)ᵀ(PᵀX).
func (w *window) explained(kind shape) float64 {
	var g [4][4]float64
	var b [4]float64
	var a [4][3]float64
	cols := 4
	if kind == plain {
		cols = 2
	}
	var cOld, sOld, xOld, yOld float64
	for i := range w.n {
		rawC, rawS, v, k, l := w.c[i], w.s[i], w.v[i], w.new[i], w.old[i]
		c, s := k*rawC-l*cOld, k*rawS-l*sOld
		cOld, sOld = rawC, rawS
		p0, p1, p2 := w.p[0][i], w.p[1][i], w.p[2][i]
		b[0] += c * v
		b[1] += s * v
		g[0][0] += c * c
		g[1][0] += s * c
		g[1][1] += s * s
		a[0][0] += p0 * c
		a[0][1] += p1 * c
		a[0][2] += p2 * c
		a[1][0] += p0 * s
		a[1][1] += p1 * s
		a[1][2] += p2 * s
		if kind == plain {
			continue
		}
		rawX, rawY := w.t[i]*rawC, w.t[i]*rawS
		if kind == harmonic {
			rawX, rawY = rawC*rawC-rawS*rawS, 2*rawS*rawC
		}
		x, y := k*rawX-l*xOld, k*rawY-l*yOld
		xOld, yOld = rawX, rawY
		b[2] += x * v
		b[3] += y * v
		g[2][0] += x * c
		g[2][1] += x * s
		g[2][2] += x * x
		g[3][0] += y * c
		g[3][1] += y * s
		g[3][2] += y * x
		g[3][3] += y * y
		a[2][0] += p0 * x
		a[2][1] += p1 * x
		a[2][2] += p2 * x
		a[3][0] += p0 * y
		a[3][1] += p1 * y
		a[3][2] += p2 * y
	}
	for j := range cols {
		for k := range j + 1 {
			g[j][k] -= a[j][0]*a[k][0] + a[j][1]*a[k][1] + a[j][2]*a[k][2]
		}
	}
	for j := cols; j < 4; j++ {
		g[j][j] = 0
	}
	x, sum := solve(&g, &b)
	w.fit = x
	return min(sum, w.total)
}

// height returns the wave that was solved for last: its peak to peak, were it even all over the
// window, and the r.m.s. that it leaves of the whitened readings.
func (w *window) height(kind shape) float64 {
	sum, mean := 0.0, 0.0
	for i := range w.n {
		c, s := w.c[i], w.s[i]
		x, y := w.t[i]*c, w.t[i]*s
		if kind == harmonic {
			x, y = c*c-s*s, 2*s*c
		}
		v := w.fit[0]*c + w.fit[1]*s
		if kind != plain {
			v += w.fit[2]*x + w.fit[3]*y
		}
		sum += v * v
		mean += v
	}
	n := float64(w.n)
	return math.Sqrt(max(0, sum/n-mean*mean/n/n)) * sineRatio
}

// steps returns the sums of squares that one, two and three steps explain, each put where it helps
// most beside those before: changes of gear or of lock-up. Three steps all one way are a saw with
// ramps between, and no gears: the third does not count.
func (w *window) steps() (part [mostSteps]float64) {
	copy(w.left[:w.n], w.v[:w.n])
	up, down := 0, 0
	explained := 0.0
	for k := range mostSteps {
		gain, at := w.bestStep(3 + k)
		if at < 0 {
			part[k] = explained
			continue
		}
		rises := w.v[at+1] > 0
		w.putStep(3+k, at)
		explained += gain
		part[k] = explained
		if rises {
			up++
		} else {
			down++
		}
		if k == mostSteps-1 && (up == 0 || down == 0) {
			part[k] = part[k-1]
		}
	}
	return part
}

// bestStep returns how much one more step explains beside the first cols columns, and the last
// reading before it. The step's column is 1 up to there and 0 behind; what it has in common with
// a column is the column's sum up to there.
func (w *window) bestStep(cols int) (gain float64, at int) {
	at = -1
	var sum [3 + mostSteps]float64
	over, square := 0.0, 0.0
	for i := range w.n - 2 {
		one := w.new[i]
		if i > 0 {
			one -= w.old[i]
		}
		over += one * w.left[i]
		square += one * one
		back := w.old[i+1]
		x, s := over-back*w.left[i+1], square+back*back
		whole := s
		for k := range cols {
			sum[k] += one * w.p[k][i]
			y := sum[k] - back*w.p[k][i+1]
			s -= y * y
		}
		if i > 0 && s > 0.05*whole && x*x > gain*s {
			gain, at = x*x/s, i
		}
	}
	return gain, at
}

// putStep makes the step behind reading at column k, and takes it out of what is left.
func (w *window) putStep(k, at int) {
	x := w.p[k][:w.n]
	for i := range x {
		x[i] = 0
		if i <= at {
			x[i] = 1
		}
	}
	w.whiten(x)
	for j := range k {
		w.takeOut(x, j)
	}
	scale(x)
	w.takeOut(w.left[:w.n], k)
}
