package detect

import (
	"math"

	"github.com/judder-obd/judder/detect/series"
)

// mostReadings is the most readings of a window; windows with more are thinned. Readings are
// 45 ms apart at least, so that the longest window of the evidence has about 95.
const mostReadings = 128

// mostSteps is how many steps are tried in a window.
const mostSteps = 2

// window is a stretch of readings without its parabola, ready to be explained by waves and steps,
// all by least squares on the true times. It holds scratch memory only.
type window struct {
	n      int
	span   float64 // s from the first reading to the last
	total  float64 // sum of squares about the parabola, in units of the scatter
	logDet float64 // ln det of the scatter's covariance and of the parabola under it
	noise  *noise
	fit    [waveColumns]float64 // coefficients of the wave that was solved for last

	read      [mostReadings]series.Reading
	whitening [mostReadings]innovation             // how each reading is whitened
	t, v      [mostReadings]float64                // t from −1 to 1; v whitened, without the parabola
	p         [3 + mostSteps][mostReadings]float64 // orthonormal: 1, t, t², and the steps found
	c, s      [mostReadings]float64                // cos and sin at the present frequency
	dc, ds    [mostReadings]float64                // rotation to the next frequency
	left      [mostReadings]float64                // what the steps leave
	step      [mostReadings]float64                // the step that is tried
}

// shape is the shape of a wave.
type shape uint8

const (
	plain    shape = iota // cos and sin
	drifting              // with t·cos and t·sin: amplitude and phase may drift
	harmonic              // with cos and sin of twice the frequency, too: slow to let go and quick to grab
)

// waveColumns is how many columns a wave has at most.
const waveColumns = 6

// columns is how many a shape has.
func (k shape) columns() int { return 2 + 2*int(k) }

// wave is a wave that explains a window.
type wave struct {
	hz   float64
	part float64 // sum of squares that it explains
}

// load takes the readings of a window.
func (w *window) load(r []series.Reading, n *noise) {
	thin := (len(r) + mostReadings - 1) / mostReadings
	w.n, w.noise = 0, n
	for i := 0; i < len(r); i += thin {
		w.read[w.n] = r[i]
		w.n++
	}
	w.prepare()
}

// prepare whitens the readings and takes their parabola out. Each reading is replaced by what those
// before it do not foretell, over its s.d.: what is left of the scatter is independent and equally
// large. Every column is treated alike.
func (w *window) prepare() {
	first, last := w.read[0], w.read[w.n-1]
	w.span = max(last.T-first.T, 1e-9)
	w.logDet = w.noise.innovations(w.whitening[:w.n], w.read[:w.n])
	for i := range w.n {
		t := 2*(w.read[i].T-first.T)/w.span - 1
		w.t[i], w.v[i] = t, w.read[i].V-first.V
		w.p[0][i], w.p[1][i], w.p[2][i] = 1, t, t*t
	}
	w.whiten(w.v[:w.n])
	for k := range 3 {
		p := w.p[k][:w.n]
		w.whiten(p)
		for j := range k {
			w.takeOut(p, j)
		}
		w.logDet += math.Log(dot(p, p) + tiny)
		scale(p)
		w.takeOut(w.v[:w.n], k)
	}
	w.total = dot(w.v[:w.n], w.v[:w.n])
}

// whiten leaves what is new in each value.
func (w *window) whiten(x []float64) {
	value, rate := 0.0, 0.0
	for i := range x {
		n := &w.whitening[i]
		value, rate = n.f00*value+n.f01*rate, n.f10*value+n.f11*rate
		d := x[i] - value
		x[i] = d * n.inv
		value += n.k0 * d
		rate += n.k1 * d
	}
}

// rms is what the readings do about their parabola, in units of the scatter.
func (w *window) rms() float64 { return math.Sqrt(w.total / max(1, float64(w.n)-3)) }

// likelihood is ln of how likely the colour is, whatever the size of the scatter. The quarter steps of
// engine speed keep it finite.
func (w *window) likelihood() float64 { return likelihoodOf(w.total, float64(w.n)-3, w.logDet) }

// likelihoodOf is ln of how likely a sum of squares is with so many readings beyond the parameters,
// whatever the size of the scatter. logDet is ln of the determinant of all that was whitened and fitted.
func likelihoodOf(sum, spare, logDet float64) float64 {
	const rounding = 0.25 * 0.25 / 12 // rpm²
	if spare <= 0 {
		return 0
	}
	return -spare/2*math.Log(sum+rounding*spare) - logDet/2
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
	return w.height()
}

// solveFor fits the wave of a frequency.
func (w *window) solveFor(hz float64, kind shape) {
	w.aim(hz, 0)
	w.explained(kind)
}

// sineRatio is the peak to peak of a sine over its r.m.s.
const sineRatio = 2 * math.Sqrt2

// gridStep is the step of the search over frequency, as a share of what a window resolves, 1/span. A
// wave that may drift makes up for half a step; a plain one is sought at half the step, and loses 2 % of
// its sum of squares.
const gridStep = 0.5

// best returns the wave between two frequencies, Hz, that explains most.
func (w *window) best(low, high float64, kind shape) (top wave) {
	if w.n < 4 || w.total == 0 {
		return wave{hz: low}
	}
	step := gridStep / w.span
	if kind == plain {
		step /= 2
	}
	w.aim(low, step)
	for hz := low; hz <= high+1e-9; hz += step {
		if part := w.explained(kind); part > top.part {
			top = wave{hz, part}
		}
		w.turn()
	}
	for _, hz := range [...]float64{top.hz - step/2, top.hz + step/2} {
		if hz < low || hz > high {
			continue
		}
		w.aim(hz, 0)
		if part := w.explained(kind); part > top.part {
			top = wave{hz, part}
		}
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

// explained fits the wave of the present frequency and returns the sum of squares that it explains.
func (w *window) explained(kind shape) float64 {
	var g [waveColumns][waveColumns]float64
	var b [waveColumns]float64
	w.normal(kind, &g, &b)
	var sum float64
	w.fit, sum = solve(&g, &b, kind.columns())
	return min(sum, w.total)
}

// leftBy returns what a wave of a frequency leaves: the r.m.s. in units of the scatter, and ln of how
// likely the colour is.
func (w *window) leftBy(hz float64, kind shape) (rms, likelihood float64) {
	var g [waveColumns][waveColumns]float64
	var b [waveColumns]float64
	w.aim(hz, 0)
	w.normal(kind, &g, &b)
	_, sum := solve(&g, &b, kind.columns())
	spare, logDet := float64(w.n)-3, w.logDet
	for j := range kind.columns() {
		if inverse := g[j][j]; inverse > 0 { // of the Cholesky factor; 0 where a column adds nothing
			spare, logDet = spare-1, logDet-2*math.Log(inverse)
		}
	}
	left := max(0, w.total-sum)
	return math.Sqrt(left / max(1, spare)), likelihoodOf(left, spare, logDet)
}

// normal sets up the normal equations G·x = b of the wave of the present frequency. The parabola is out
// of v, and is taken out of the columns here: G = XᵀX − (PᵀX)ᵀ(PᵀX).
func (w *window) normal(kind shape, g *[waveColumns][waveColumns]float64, b *[waveColumns]float64) {
	cols := kind.columns()
	var value, rate, x [waveColumns]float64
	var a [waveColumns][3]float64
	for i := range w.n {
		n, v, p0, p1, p2 := &w.whitening[i], w.v[i], w.p[0][i], w.p[1][i], w.p[2][i]
		raw := w.column(i)
		for k := range cols {
			u := n.f00*value[k] + n.f01*rate[k]
			d := raw[k] - u
			value[k], rate[k] = u+n.k0*d, n.f10*value[k]+n.f11*rate[k]+n.k1*d
			d *= n.inv
			x[k] = d
			b[k] += d * v
			a[k][0] += d * p0
			a[k][1] += d * p1
			a[k][2] += d * p2
			for j := range k + 1 {
				g[k][j] += d * x[j]
			}
		}
	}
	for j := range cols {
		for k := range j + 1 {
			g[j][k] -= a[j][0]*a[k][0] + a[j][1]*a[k][1] + a[j][2]*a[k][2]
		}
	}
}

// column returns the columns of a wave at a reading.
func (w *window) column(i int) [waveColumns]float64 {
	c, s, t := w.c[i], w.s[i], w.t[i]
	return [waveColumns]float64{c, s, t * c, t * s, c*c - s*s, 2 * s * c}
}

// waveAt is the wave that was solved for last at a reading, rpm.
func (w *window) waveAt(i int) (v float64) {
	for k, x := range w.column(i) {
		v += w.fit[k] * x
	}
	return v
}

// height returns the peak to peak of the wave that was solved for last, were it even all over the
// window.
func (w *window) height() float64 {
	sum, mean := 0.0, 0.0
	for i := range w.n {
		v := w.waveAt(i)
		sum += v * v
		mean += v
	}
	n := float64(w.n)
	return math.Sqrt(max(0, sum/n-mean*mean/n/n)) * sineRatio
}

// steps returns the sum of squares that n steps explain, at most mostSteps, each put where it helps most
// beside those before: changes of gear or of lock-up.
func (w *window) steps(n int) (part float64) {
	copy(w.left[:w.n], w.v[:w.n])
	for k := range n {
		if gain, at := w.bestStep(3 + k); at > 0 {
			w.putStep(3+k, at)
			part += gain
		}
	}
	return part
}

// bestStep returns how much one more step explains beside the first cols columns, and the last
// reading before it, 0 where no step explains more.
func (w *window) bestStep(cols int) (gain float64, at int) {
	x := w.step[:w.n]
	for i := 1; i < w.n-2; i++ {
		w.makeStep(x, i)
		whole := dot(x, x)
		over, s := dot(x, w.left[:w.n]), whole
		for k := range cols {
			y := dot(x, w.p[k][:w.n])
			s -= y * y
		}
		if s > 0.02*whole && over*over > gain*s {
			gain, at = over*over/s, i
		}
	}
	return gain, at
}

// makeStep makes the step behind reading at, whitened.
func (w *window) makeStep(x []float64, at int) {
	for i := range x {
		x[i] = 0
		if i > at {
			x[i] = 1
		}
	}
	w.whiten(x)
}

// putStep makes the step behind reading at column k, and takes it out of what is left.
func (w *window) putStep(k, at int) {
	x := w.p[k][:w.n]
	w.makeStep(x, at)
	for j := range k {
		w.takeOut(x, j)
	}
	scale(x)
	w.takeOut(w.left[:w.n], k)
}
