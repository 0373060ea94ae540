package detect

import "math"

// wave is the drifting wave that explains a window best.
type wave struct {
	hz    float64
	share float64 // of the variance about the line, corrected for the number of parameters; ≤ 1, may be below 0
}

// fitSize is the most readings a fit uses; windows with more are thinned.
const fitSize = 160

// waveFit fits line + (a + b·t)·cos + (c + d·t)·sin, a wave whose amplitude and phase may
// drift, by least squares on the true times. It holds scratch memory only.
type waveFit struct {
	n            int
	t, v         [fitSize]float64 // t from −1 to 1 over the window
	c, s         [fitSize]float64 // cos and sin at the present frequency
	stepC, stepS [fitSize]float64 // rotation to the next frequency
	total        float64
	half         float64 // half the window, s
	mid          float64
}

// columns of the fit: 1, t, cos, sin, t·cos, t·sin.
const columns = 6

// load takes a window whose line has been subtracted.
func (f *waveFit) load(w []reading) {
	thin := (len(w) + fitSize - 1) / fitSize
	f.n = 0
	f.mid = (w[0].t + w[len(w)-1].t) / 2
	f.half = max((w[len(w)-1].t-w[0].t)/2, 1e-9)
	f.total = 0
	for i := 0; i < len(w); i += thin {
		f.t[f.n] = (w[i].t - f.mid) / f.half
		f.v[f.n] = w[i].v
		f.total += w[i].v * w[i].v
		f.n++
	}
}

// best searches low to high in steps that fit the window and returns the best wave.
func (f *waveFit) best(low, high float64) wave {
	if f.n <= columns+1 || f.total == 0 {
		return wave{share: math.Inf(-1)}
	}
	step := 0.125 / f.half // half of what a window can resolve
	for i := range f.n {
		x := 2 * math.Pi * f.half * f.t[i]
		f.s[i], f.c[i] = math.Sincos(x * low)
		f.stepS[i], f.stepC[i] = math.Sincos(x * step)
	}
	top := wave{share: math.Inf(-1)}
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

// share solves the normal equations at the present frequency.
func (f *waveFit) share() float64 {
	var a [columns][columns]float64
	var b [columns]float64
	for i := range f.n {
		t, c, s := f.t[i], f.c[i], f.s[i]
		x := [columns]float64{1, t, c, s, t * c, t * s}
		for j := range columns {
			for k := 0; k <= j; k++ {
				a[j][k] += x[j] * x[k]
			}
			b[j] += x[j] * f.v[i]
		}
	}
	explained := solveExplained(&a, &b)
	n := float64(f.n)
	rest := max(0, f.total-explained) / (n - columns)
	return 1 - rest/(f.total/(n-2))
}

// solveExplained returns bᵀ·a⁻¹·b, the sum of squares the columns explain, by Cholesky; a
// column that the others already hold is left out.
func solveExplained(a *[columns][columns]float64, b *[columns]float64) float64 {
	var y [columns]float64
	explained := 0.0
	for j := range columns {
		d := a[j][j]
		v := b[j]
		for k := range j {
			d -= a[j][k] * a[j][k]
			v -= a[j][k] * y[k]
		}
		if d <= 1e-9*a[j][j] {
			for i := j; i < columns; i++ {
				a[i][j] = 0
			}
			continue
		}
		root := math.Sqrt(d)
		a[j][j] = root
		y[j] = v / root
		explained += y[j] * y[j]
		for i := j + 1; i < columns; i++ {
			s := a[i][j]
			for k := range j {
				s -= a[i][k] * a[j][k]
			}
			a[i][j] = s / root
		}
	}
	return explained
}
