package detect

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// The evidence beside a blow is that of the readings which stay: weighted least squares by gonum under
// their own covariance, for every stretch that may be taken out, and the least of all.
func TestBesideBlowAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	n := newNoise(0.25, 0.7, 0.08)
	for _, kind := range []shape{plain, drifting, harmonic} {
		w := uneven(r, 24, func(t float64) float64 { return 1800 + 30*math.Sin(2*math.Pi*2.4*t) + 5*r.NormFloat64() })
		const hz, seconds, readings, worth, usual = 2.4, 0.5, 3, 12, 5.0
		var f, rest window
		f.load(w, &n)
		f.solveFor(hz, kind)
		got := f.besideBlow(seconds, readings, weigher{spare: 17, worth: worth, prior: worth * usual * usual, shaking: 1}, &rest)

		cols := columnsOf(w, hz, kind)
		white := whitened(t, covariance(w, n), append(cols[:len(cols):len(cols)], values(w)))
		var x mat.Dense
		a := mat.NewDense(len(w), len(cols), nil)
		for k := range cols {
			a.SetCol(k, white[k])
		}
		if err := x.Solve(a, mat.NewDense(len(w), 1, white[len(cols)])); err != nil {
			t.Fatal(err)
		}
		want := math.Inf(1)
		for from := 0; from+readings <= len(w); from++ {
			to := from
			for to < len(w) && (to-from < readings || w[to].T-w[from].T <= seconds) {
				to++
			}
			stay := append(w[:from:from], w[to:]...)
			var wave []float64
			var parabola [3][]float64
			for i := range w {
				if i >= from && i < to {
					continue
				}
				sum := 0.0
				for k := 3; k < len(cols); k++ {
					sum += x.At(k, 0) * cols[k][i]
				}
				wave = append(wave, w[i].V-sum)
				for k := range parabola {
					parabola[k] = append(parabola[k], cols[k][i])
				}
			}
			cov := covariance(stay, n)
			healthy, shaking := generalised(t, cov, parabola[:], values(stay)), generalised(t, cov, parabola[:], wave)
			spare := max(1, 17-float64(to-from))
			want = min(want, (spare+worth)/2*math.Log((healthy+worth*usual*usual)/(shaking+worth*usual*usual)))
		}
		if math.Abs(got-want) > 1e-6*math.Abs(want) {
			t.Errorf("%v: %v nats beside the blow, by gonum %v", kind, got, want)
		}
	}
}
