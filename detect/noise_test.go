package detect

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"github.com/judder-obd/judder/detect/series"
)

// scattered makes n readings, a tenth of a second apart, of scatter of a size: by the Cholesky factor of
// its covariance, from gonum.
func scattered(t *testing.T, r *rand.Rand, n *noise, size float64, readings int) []series.Reading {
	t.Helper()
	w := make([]series.Reading, readings)
	for i := range w {
		w[i].T = 7 + 0.1*float64(i)
	}
	var chol mat.Cholesky
	if !chol.Factorize(covariance(w, *n)) {
		t.Fatal("covariance is not positive")
	}
	var l mat.TriDense
	chol.LTo(&l)
	draw := mat.NewVecDense(readings, nil)
	for i := range readings {
		draw.SetVec(i, size*r.NormFloat64())
	}
	var x mat.VecDense
	x.MulVec(&l, draw)
	for i := range w {
		w[i].V = 1800 + x.AtVec(i)
	}
	return w
}

// Scatter of unit size has a mean square of 1 about a parabola over 1.6 s, whatever its colour.
func TestNoiseOfUnitSize(t *testing.T) {
	r := rand.New(rand.NewPCG(33, 34))
	for k, n := range newNoises(&standard) {
		sum := 0.0
		for range 2000 {
			rms := parabolaRMS(scattered(t, r, &n, 5, 17))
			sum += rms * rms / 2000
		}
		if got := math.Sqrt(sum); math.Abs(got-5) > 0.25 {
			t.Errorf("colour %d: %v rpm about a parabola, made with 5", k, got)
		}
	}
}

// What is whitened is independent and of unit size, and ln det is that of the covariance:
// both by gonum's Cholesky factor.
func TestInnovationsAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(35, 36))
	for range 20 {
		n := newNoise(0.05+r.Float64(), 0.4+r.Float64(), 0.03+0.1*r.Float64())
		w := uneven(r, 5+r.IntN(30), func(float64) float64 { return 10 * r.NormFloat64() })
		var chol mat.Cholesky
		if !chol.Factorize(covariance(w, n)) {
			t.Fatal("covariance is not positive")
		}
		var solved mat.VecDense
		v := mat.NewVecDense(len(w), values(w))
		if err := chol.SolveVecTo(&solved, v); err != nil {
			t.Fatal(err)
		}
		var f window
		f.n, f.noise = len(w), &n
		logDet := n.innovations(f.whitening[:len(w)], w)
		x := values(w)
		f.whiten(x)
		if want := chol.LogDet(); math.Abs(logDet-want) > 1e-6*max(1, math.Abs(want)) {
			t.Fatalf("ln det %v, gonum %v", logDet, want)
		}
		if got, want := dot(x, x), mat.Dot(v, &solved); math.Abs(got-want) > 1e-6*want {
			t.Fatalf("sum of squares %v, gonum %v", got, want)
		}
	}
}

// The wander is remembered for the memory and smooth over the other time, by the formula of the package comment,
// and the quick part is so many times as large, as s.d.
func TestNewNoise(t *testing.T) {
	const memory, smooth, quick = 0.7, 0.08, 0.5
	n := newNoise(quick, memory, smooth)
	for _, tau := range []float64{0.01, 0.1, 0.5, 2} {
		want := (memory*math.Exp(-tau/memory) - smooth*math.Exp(-tau/smooth)) / (memory - smooth)
		if got := n.covariance(tau) / n.wander; !(math.Abs(got-want) <= 1e-12) {
			t.Errorf("%v s apart: correlation %v, want %v", tau, got, want)
		}
	}
	if got := n.covariance(0) / n.wander; !(math.Abs(got-(1+quick*quick)) <= 1e-12) {
		t.Errorf("of one reading %v, want %v", got, 1+quick*quick)
	}
}
