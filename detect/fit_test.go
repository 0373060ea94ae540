package detect

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/judder-obd/judder/detect/series"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// uneven makes a window of n readings at uneven times.
func uneven(r *rand.Rand, n int, of func(t float64) float64) []series.Reading {
	w := make([]series.Reading, n)
	t := 100 * r.Float64()
	for i := range w {
		t += 0.06 + 0.1*r.Float64()
		w[i] = series.Reading{T: t, V: of(t)}
	}
	return w
}

// covariance is that of scatter: wander of two memories by its formula, and the quick part on the
// diagonal.
func covariance(w []series.Reading, n noise) *mat.SymDense {
	c := mat.NewSymDense(len(w), nil)
	for i := range w {
		for j := range i + 1 {
			t := math.Abs(w[i].T - w[j].T)
			x := n.wander * (math.Exp(-n.slow*t)/n.slow - math.Exp(-n.fast*t)/n.fast) / (1/n.slow - 1/n.fast)
			if i == j {
				x += n.quick
			}
			c.SetSym(i, j, x)
		}
	}
	return c
}

var usualNoise = newNoises(&standard)[usualColour]

// generalised returns the generalised sum of squares that columns leave of v under a covariance:
// least squares by gonum's QR on what its Cholesky factor whitens.
func generalised(t *testing.T, cov *mat.SymDense, columns [][]float64, v []float64) float64 {
	t.Helper()
	white := whitened(t, cov, append(columns[:len(columns):len(columns)], v))
	sum := 0.0
	for _, x := range residuals(t, white[:len(columns)], white[len(columns)]) {
		sum += x * x
	}
	return sum
}

// whitened solves with the Cholesky factor of a covariance.
func whitened(t *testing.T, cov *mat.SymDense, columns [][]float64) [][]float64 {
	t.Helper()
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		t.Fatal("covariance is not positive")
	}
	var l mat.TriDense
	chol.LTo(&l)
	out := make([][]float64, len(columns))
	for k, col := range columns {
		var x mat.Dense
		if err := x.Solve(&l, mat.NewDense(len(col), 1, col)); err != nil {
			t.Fatal(err)
		}
		out[k] = mat.Col(nil, 0, &x)
	}
	return out
}

// residuals are what least squares by QR leaves of v.
func residuals(t *testing.T, columns [][]float64, v []float64) []float64 {
	t.Helper()
	_, left := leastSquares(t, columns, v)
	return left
}

// leastSquares returns the coefficients of least squares by QR, and what they leave of v.
func leastSquares(t *testing.T, columns [][]float64, v []float64) (fitted, left []float64) {
	t.Helper()
	a := mat.NewDense(len(v), len(columns), nil)
	for k, col := range columns {
		a.SetCol(k, col)
	}
	var x, fit mat.Dense
	if err := x.Solve(a, mat.NewDense(len(v), 1, v)); err != nil {
		t.Fatal(err)
	}
	fit.Mul(a, &x)
	fit.Sub(mat.NewDense(len(v), 1, v), &fit)
	return mat.Col(nil, 0, &x), mat.Col(nil, 0, &fit)
}

// columnsOf are the columns of a parabola and a wave.
func columnsOf(w []series.Reading, hz float64, kind shape) [][]float64 {
	cols := make([][]float64, 3+kind.columns())
	mid, half := (w[0].T+w[len(w)-1].T)/2, (w[len(w)-1].T-w[0].T)/2
	for _, r := range w {
		x := (r.T - mid) / half
		s, c := math.Sincos(2 * math.Pi * hz * (r.T - mid))
		s2, c2 := math.Sincos(4 * math.Pi * hz * (r.T - mid))
		row := [...]float64{1, x, x * x, c, s, x * c, x * s, c2, s2}
		for k := range cols {
			cols[k] = append(cols[k], row[k])
		}
	}
	return cols
}

func values(w []series.Reading) (v []float64) {
	for _, r := range w {
		v = append(v, r.V)
	}
	return v
}

// What parabola and wave leave is what gonum's Cholesky and QR leave under the whole covariance of
// the scatter: whitening reading by reading is exact.
func TestFitAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	n := newNoise(0.2, 0.6, 0.09)
	for _, kind := range []shape{plain, drifting, harmonic} {
		for range 20 {
			hz := 1 + 5*r.Float64()
			w := uneven(r, 14+r.IntN(40), func(t float64) float64 { return 1700 + 30*math.Sin(15*t) + 20*r.NormFloat64() })
			cov := covariance(w, n)
			var f window
			f.load(w, &n)
			if want := generalised(t, cov, columnsOf(w, hz, kind)[:3], values(w)); math.Abs(f.total/want-1) > 1e-6 {
				t.Fatalf("about the parabola %v, gonum %v", f.total, want)
			}
			f.aim(hz, 0)
			got := f.total - f.explained(kind)
			if want := generalised(t, cov, columnsOf(w, hz, kind), values(w)); math.Abs(got/want-1) > 1e-4 {
				t.Fatalf("shape %v at %.2f Hz: %v left, gonum %v", kind, hz, got, want)
			}
		}
	}
}

// The difference of two log-likelihoods of normal scatter whose size is known is half the
// difference of the sums of squares over the variance: gonum's normal law.
func TestEvidenceIsALikelihoodRatio(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	const sigma = 7.0
	n := white // independent readings
	w := uneven(r, 40, func(t float64) float64 { return 60*math.Sin(2*math.Pi*2.3*t) + sigma*r.NormFloat64() })
	var f window
	f.load(w, &n)
	f.aim(2.3, 0)
	part := f.explained(drifting)
	law := distuv.Normal{Mu: 0, Sigma: sigma}
	healthy := 0.0
	for i := range f.n {
		healthy += law.LogProb(f.v[i])
	}
	shaking := 0.0
	fitted := columnsOf(w, 2.3, drifting)
	left := generalised(t, covariance(w, n), fitted, values(w))
	shaking = float64(f.n)*law.LogProb(0) - left/(2*sigma*sigma)
	if got, want := part/(2*sigma*sigma), shaking-healthy; math.Abs(got-want) > 1e-6*want {
		t.Errorf("%v nats, gonum %v", got, want)
	}
}

// A known wave is found with its frequency, and its size as it is before an ECU averages it (made-up
// signal, known by formula).
func TestWaveIsFound(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	for _, hz := range []float64{1.2, 2.1, 3.3, 4.7, 5.9} {
		w := uneven(r, 32, func(t float64) float64 { return 1700 + 50*math.Sin(2*math.Pi*hz*t) + 4*r.NormFloat64() })
		var f, rest window
		f.load(w, &usualNoise)
		got := f.explain(&standard, 4, 10, nil, &rest)
		if math.Abs(got.hz-hz) > 0.15 || math.Abs(got.wave*averaged(hz, averagedUpTo)-100) > 12 || got.margin(&standard) < 0 {
			t.Errorf("%v Hz: %+v", hz, got)
		}
		f.load(w, &white)
		if got := f.explain(&standard, 4, 10, nil, &rest); got.left < 3 || got.left > 5 || !(math.Abs(got.cycles-got.hz*(w[len(w)-1].T-w[0].T)) <= 1e-9) {
			t.Errorf("%v Hz: %v rpm are left of 4, %v cycles", hz, got.left, got.cycles)
		}
	}
}

// What is healthy is not called a wave, and a wave is (made-up signals, known by formula). The alarm
// wants more: size, and a second look.
func TestEvidencePartsWaveFromWhatItIsNot(t *testing.T) {
	for name, c := range map[string]struct {
		of  func(t float64) float64
		yes bool
	}{
		"wave":       {func(t float64) float64 { return 40 * math.Sin(2*math.Pi*2.5*t) }, true},
		"fast wave":  {func(t float64) float64 { return 40 * math.Sin(2*math.Pi*4.7*t) }, true},
		"slow swing": {func(t float64) float64 { return 40 * math.Sin(2*math.Pi*0.5*t) }, false},
		"one step":   {func(t float64) float64 { return 150 * math.Round(t/3) }, false},
		"two steps":  {func(t float64) float64 { return 150 * math.Mod(math.Round(t/1.2), 2) }, false},
		"hill":       {func(t float64) float64 { return 30 * (t - 1) * (t - 1) }, false},
		"nothing":    {func(float64) float64 { return 0 }, false},
		"blow": {func(t float64) float64 {
			return 120 * math.Exp(-math.Abs(t-1.5)/0.15) * math.Cos(2*math.Pi*1.6*(t-1.5))
		}, false},
		"last step":   {func(t float64) float64 { return 100 * (math.Floor(t/2.7) - math.Floor(t/2.8)) }, false},
		"growing one": {func(t float64) float64 { return 25 * t * math.Sin(2*math.Pi*3*t) }, true},
	} {
		r := rand.New(rand.NewPCG(13, 14))
		right := 0
		for range 40 {
			w := make([]series.Reading, 30)
			for i := range w {
				t := float64(i)/10 + 0.02*r.Float64()
				w[i] = series.Reading{T: t, V: c.of(t) + 4*r.NormFloat64()}
			}
			var f, rest window
			f.load(w, &usualNoise)
			x := f.explain(&standard, 4, 10, nil, &rest)
			if (x.margin(&standard) > 0 && x.wave > standard.LeastRPM) == c.yes {
				right++
			}
		}
		if right < 36 {
			t.Errorf("%s: %d of 40 right", name, right)
		}
	}
}

func TestWindowOfNothing(t *testing.T) {
	var f, rest window
	f.load([]series.Reading{{T: 1, V: 5}, {T: 2, V: 5}, {T: 3, V: 5}}, &usualNoise)
	if x := f.explain(&standard, 4, 10, nil, &rest); x.evidence > 0 || x.wave != 0 {
		t.Errorf("%+v", x)
	}
}

// The quick r.m.s. about a parabola is that of gonum's QR.
func TestParabolaRMSAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(17, 18))
	for range 50 {
		w := uneven(r, 5+r.IntN(40), func(t float64) float64 { return 1700 + 9*t + 12*r.NormFloat64() })
		n := len(w)
		want := math.Sqrt(generalised(t, covariance(w, white), columnsOf(w, 1, plain)[:3], values(w)) / float64(n-3))
		if got := parabolaRMS(w); math.Abs(got-want) > 1e-6*want {
			t.Fatalf("%d readings: %v, gonum %v", n, got, want)
		}
	}
}

// sin(x)/x at half a turn is 2/π.
func TestAveraged(t *testing.T) {
	if got := averaged(5, 0.1); math.Abs(got-2/math.Pi) > 1e-12 {
		t.Errorf("5 Hz over 0.1 s: %v, want 2/π", got)
	}
	if averaged(0, 0.1) != 1 {
		t.Error("0 Hz is not left whole")
	}
}

// What is left of a sine in the mean of n of its values, added up here one by one.
func TestMeanOf(t *testing.T) {
	for _, c := range []struct{ hz, interval float64 }{{3, 0.05}, {5, 1. / 60}, {2, 0.1}} {
		n := max(1, int(math.Ceil(0.07/c.interval)))
		var re, im float64
		for i := range n {
			s, co := math.Sincos(2 * math.Pi * c.hz * c.interval * float64(i))
			re, im = re+co/float64(n), im+s/float64(n)
		}
		if got, want := meanOf(c.hz, c.interval, 0.07), math.Hypot(re, im); math.Abs(got-want) > 1e-12 {
			t.Errorf("%v Hz each %v s: %v, want %v", c.hz, c.interval, got, want)
		}
	}
}

// Published frequencies, and what engine speed shows of them ten times a second: grab and release at
// 1.9 Hz and drive-line shuffle at 2.6 to 5.6 Hz (models computed with published vehicle data) are
// waves of shudder; surge and slip control at 0.3 to 0.7 Hz (common practice) are not; first mode of a
// slipping drive line at 8 to 12 Hz (a clutch maker's symposium paper) is seen as its alias, if at all.
func TestPublishedFrequencies(t *testing.T) {
	for _, c := range []struct {
		name string
		hz   float64
		yes  bool
	}{
		{"grab and release", 1.9, true}, {"shuffle, first gear", 2.6, true}, {"shuffle, overall ratio 5", 5.6, true},
		{"surge", 0.3, false}, {"slip control", 0.5, false}, {"slip control, fast", 0.7, false},
	} {
		r := rand.New(rand.NewPCG(21, 22))
		found := 0
		for range 20 {
			w := make([]series.Reading, 31)
			phase := 2 * math.Pi * r.Float64()
			for i := range w {
				at := float64(i)/10 + 0.02*r.Float64()
				w[i] = series.Reading{T: at, V: 1700 + 50*math.Sin(2*math.Pi*c.hz*at+phase) + 5*r.NormFloat64()}
			}
			var f, rest window
			f.load(w, &usualNoise)
			if x := f.explain(&standard, 5, 10, nil, &rest); x.margin(&standard) > 0 && x.wave > standard.LeastRPM {
				found++
			}
		}
		if c.yes && found < 19 || !c.yes && found > 0 {
			t.Errorf("%s at %v Hz: a wave of shudder in %d of 20 windows", c.name, c.hz, found)
		}
	}
	if got := aliases(1.8, 10, 0); len(got) < 2 || got[1] != 8.2 {
		t.Errorf("1.8 Hz read ten times a second may be %v, and 8.2 is in the band of the slipping drive line", got)
	}
}
