package detect

import "math"

// wave is the wave that explains a window best.
type wave struct {
	hz    float64
	share float64 // of the sum of squares about the line, 0 to 1
}

// fitSize is the most readings a fit uses; windows with more are thinned.
const fitSize = 128

// waveFit explains a window, whose line has been subtracted, by least squares on the true
// times: by line and a wave, plain (a·cos + b·sin) or drifting ((a + c·t)·cos + (b + d·t)·sin,
// amplitude and phase free to drift), or by line and one step. It holds scratch memory only.
type waveFit struct {
	n            int
	shape        shape
	cols         int              // columns of the fit: 5 for a plain wave, 7 for the others
	t, v         [fitSize]float64 // t from −1 to 1 over the window
	c, s         [fitSize]float64 // cos and sin at the present frequency
	stepC, stepS [fitSize]float64 // rotation to the next frequency
	left         [fitSize]float64 // what the steps leave
	total        float64
	half         float64 // half the window, s
	askedHz      float64 // rate of the readings, a second
}

// columns at most: 1, t, t², cos, sin and, drifting, t·cos and t·sin or, harmonic, cos and sin
// of twice the frequency.
const columns = 7

// allow sets the shape of the waves that are searched from now on.
func (f *waveFit) allow(s shape) {
	f.shape, f.cols = s, columns
	if s == plain {
		f.cols = 5
	}
}

// shape is the shape of a wave.
type shape uint8

const (
	plain    shape = iota
	drifting       // amplitude and phase drift
	harmonic       // with its second harmonic: a clutch that lets go slowly and grabs at once makes a saw
)

// load takes a window whose line has been subtracted, and takes its parabola out as well: a
// clutch that lets go lifts engine speed as a whole while it swings.
func (f *waveFit) load(w []reading) {
	thin := (len(w) + fitSize - 1) / fitSize
	mid := (w[0].t + w[len(w)-1].t) / 2
	f.half = max((w[len(w)-1].t-w[0].t)/2, 1e-9)
	f.n, f.total = 0, 0
	f.allow(plain)
	var a [columns][columns]float64
	var b [columns]float64
	for i := 0; i < len(w); i += thin {
		t, v := (w[i].t-mid)/f.half, w[i].v
		f.t[f.n], f.v[f.n] = t, v
		t2 := t * t
		a[0][0]++
		a[1][0] += t
		a[1][1] += t2
		a[2][1] += t * t2
		a[2][2] += t2 * t2
		b[0] += v
		b[1] += t * v
		b[2] += t2 * v
		f.n++
	}
	a[2][0] = a[1][1]
	solveExplained(&a, &b, 3)
	x := backSolve(&a, &b)
	for i := range f.n {
		t := f.t[i]
		f.v[i] -= x[0] + t*(x[1]+t*x[2])
		f.total += f.v[i] * f.v[i]
	}
}

// backSolve returns the coefficients of a parabola from the Cholesky factor and the forward
// solution that solveExplained leaves in a and b.
func backSolve(a *[columns][columns]float64, y *[columns]float64) (x [3]float64) {
	for j := 2; j >= 0; j-- {
		if a[j][j] <= 0 || math.IsNaN(y[j]) {
			continue
		}
		v := y[j]
		for k := j + 1; k < 3; k++ {
			v -= a[k][j] * x[k]
		}
		x[j] = v / a[j][j]
	}
	return x
}

// best searches low to high, Hz, in steps a quarter of what the window resolves.
func (f *waveFit) best(low, high float64) wave {
	if f.n <= f.cols || f.total == 0 {
		return wave{}
	}
	step := 0.125 / f.half
	for i := range f.n {
		x := 2 * math.Pi * f.half * f.t[i]
		f.s[i], f.c[i] = math.Sincos(x * low)
		f.stepS[i], f.stepC[i] = math.Sincos(x * step)
	}
	top := wave{}
	for hz := low; hz <= high; hz += step {
		if share := f.share(); share > top.share {
			top = wave{hz, share}
		}
		for i := range f.n {
			c, s := f.c[i], f.s[i]
			f.c[i] = c*f.stepC[i] - s*f.stepS[i]
			f.s[i] = s*f.stepC[i] + c*f.stepS[i]
		}
	}
	return top
}

// share solves the normal equations at the present frequency, for as many of the columns as
// the fit has.
func (f *waveFit) share() float64 {
	var a [columns][columns]float64
	var b [columns]float64
	n := f.cols
	for i := range f.n {
		t, c, s, v := f.t[i], f.c[i], f.s[i], f.v[i]
		x := [columns]float64{1, t, t * t, c, s, t * c, t * s}
		if f.shape == harmonic {
			x[5], x[6] = c*c-s*s, 2*s*c
		}
		for j := 3; j < n; j++ {
			b[j] += x[j] * v
			for k := 0; k <= j; k++ {
				a[j][k] += x[j] * x[k]
			}
		}
		a[1][0] += t
		a[1][1] += x[2]
		a[2][1] += t * x[2]
		a[2][2] += x[2] * x[2]
	}
	a[0][0], a[2][0] = float64(f.n), a[1][1]
	return clampTo(solveExplained(&a, &b, n)/f.total, 0, 1)
}

// solveExplained returns bᵀ·a⁻¹·b, the sum of squares the first n columns explain, by
// Cholesky; a column that the others already hold is left out. a then holds the factor and b
// the forward solution.
func solveExplained(a *[columns][columns]float64, b *[columns]float64, n int) float64 {
	y := b
	explained := 0.0
	for j := range n {
		d := a[j][j]
		v := b[j]
		for k := range j {
			d -= a[j][k] * a[j][k]
			v -= a[j][k] * y[k]
		}
		if d <= 1e-9*a[j][j] {
			y[j], a[j][j] = 0, 0
			for i := j; i < n; i++ {
				a[i][j] = 0
			}
			continue
		}
		root := math.Sqrt(d)
		a[j][j] = root
		y[j] = v / root
		explained += y[j] * y[j]
		for i := j + 1; i < n; i++ {
			s := a[i][j]
			for k := range j {
				s -= a[i][k] * a[j][k]
			}
			a[i][j] = s / root
		}
	}
	return explained
}

// swing returns the peak-to-peak of a wave, were it even all over the window.
func (f *waveFit) swing(w wave) float64 {
	return math.Sqrt(f.total/float64(f.n)*w.share) * sineRatio
}

// mostSteps is how many steps may explain a window instead of a wave.
const mostSteps = 3

// steps returns the shares that line and one, two and three steps explain, each step put
// greedily where it helps most: changes of gear or of lock-up.
func (f *waveFit) steps() (share [mostSteps]float64) {
	n := float64(f.n)
	var st, stt float64
	for i := range f.n {
		st += f.t[i]
		stt += f.t[i] * f.t[i]
	}
	mt := st / n
	vt := stt - n*mt*mt
	copy(f.left[:f.n], f.v[:f.n])
	up, down := 0, 0
	for k := range share {
		best, at, size, slope := 0.0, -1, 0.0, 0.0
		count, sumT, sumV := 0.0, 0.0, 0.0
		for i := range f.n - 2 {
			count++
			sumT += f.t[i] - mt
			sumV += f.left[i]
			// The step's column less its own line has this square.
			square := count - count*count/n - sumT*sumT/vt
			if i > 0 && square > 0.3 && sumV*sumV/square > best {
				best, at, size, slope = sumV*sumV/square, i, sumV/square, sumT/vt
			}
		}
		rest := 0.0
		for i := range f.n {
			x := -float64(at+1)/n - slope*(f.t[i]-mt)
			if i <= at {
				x++
			}
			f.left[i] -= size * x
			rest += f.left[i] * f.left[i]
		}
		switch jump := f.v[at+1] - f.v[max(at, 0)]; { // of the readings themselves, whatever was taken out before
		case jump > 0:
			up++
		case jump < 0:
			down++
		}
		share[k] = clampTo(1-rest/f.total, 0, 1)
		if k == mostSteps-1 && (up == 0 || down == 0) {
			share[k] = share[k-1] // all one way, with ramps back between, is a saw and no gears
		}
	}
	return share
}

// usualLeft returns the r.m.s. of what the steps leave, without the largest fifth of it: the
// few readings within a step, which a sharp step cannot explain, do not count.
func (f *waveFit) usualLeft() float64 {
	x := f.left[:f.n]
	x[0] = math.Abs(x[0])
	for i := 1; i < len(x); i++ {
		v, j := math.Abs(x[i]), i
		for j > 0 && x[j-1] > v {
			x[j] = x[j-1]
			j--
		}
		x[j] = v
	}
	keep, sum := x[:len(x)-len(x)/5], 0.0
	for _, v := range keep {
		sum += v * v
	}
	return math.Sqrt(sum/float64(len(keep))) / sineTrimmed
}

// sineTrimmed is the r.m.s. of a sine without its largest fifth over its whole r.m.s.: the
// mean of sin² below the angle 0.4·π is (0.2·π − sin(0.8·π)/4)·2/π/0.8 = 0.383, against 0.5.
const sineTrimmed = 0.875

// slowBelow returns the frequency below which a wave is slow, Hz: lower at low rates, which
// show little else.
func (f *waveFit) slowBelow(th *thresholds) float64 {
	return clampTo(f.askedHz/4, th.redBelowFew, th.redBelow)
}

// slowest returns the slowest frequency that looks like hz at the rate of askedHz, as if the
// readings were even: at low rates there are too few uneven ones to show which it is.
func (f *waveFit) slowest(hz float64) float64 {
	if f.askedHz <= 0 {
		return hz
	}
	return min(hz, math.Abs(hz-math.Round(hz/f.askedHz)*f.askedHz))
}

// weighing is the result of the fits of one window.
type weighing struct {
	evidence float64 // for a wave, natural units
	best     wave
	swing    float64 // rpm peak to peak of the wave, were it even all over the window
	left     float64 // rpm r.m.s. that the wave leaves
	slow     bool    // a slow wave explains it better
	rest     float64 // rpm r.m.s. that a slow wave leaves, or the steps in most of the readings, whichever is less
	restPart float64 // the same as a part of what is there
}

// weigh compares two explanations of the window: a wave of the shudder's frequencies, and the
// best of the others (independent scatter such as misfire, a slow swing, a few steps). The
// evidence is their log-likelihood ratio, less prices for the search over frequencies and for a
// slow wave; see the package comment. The size of the noise is not known: the car's floor counts
// as priorCount readings of it. Below 0 the others explain more.
func (f *waveFit) weigh(th *thresholds, floor float64) weighing {
	if f.n < 4 || f.total == 0 {
		return weighing{}
	}
	low, high := max(th.fitLow, th.fitCycles/(2*f.half)), th.fitHigh
	if f.shape == harmonic {
		high = min(th.harmonicHigh, f.askedHz/th.harmonicRead)
	}
	best := f.best(low, high)
	slower := f.best(th.slowLow, th.slowHigh)
	steps := f.steps()
	w := weighing{best: best, slow: slower.share > best.share}
	rms := math.Sqrt(f.total / float64(f.n))
	w.swing, w.left = f.swing(best), rms*math.Sqrt(1-best.share)
	w.rest = min(rms*math.Sqrt(1-slower.share), f.usualLeft())
	w.restPart = w.rest / rms
	free := min(float64(f.n), 1+2*f.half/th.independent) - float64(f.cols)
	if free < 2 {
		return w
	}
	prior := th.priorCount * floor * floor * th.priorFloor * th.priorFloor
	against := func(share float64) float64 {
		return (free + th.priorCount) / 2 * math.Log((f.total*(1-share)+prior)/(f.total*(1-best.share)+prior))
	}
	w.evidence = against(slower.share)
	for k, share := range steps {
		w.evidence = min(w.evidence, against(share)+float64(k)*th.stepPrice)
	}
	w.evidence -= math.Log(float64(f.n)/2) + th.redPrice*max(0, math.Log(f.slowBelow(th)/max(f.slowest(best.hz), 0.3)))
	switch f.shape {
	case drifting:
		w.evidence -= th.driftPrice
	case harmonic:
		w.evidence -= th.harmonicPrice
	}
	return w
}
