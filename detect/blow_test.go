package detect

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The evidence beside a blow is that of the readings which stay: weighted least squares by gonum on
// the whitened rows, for every stretch that may be taken out, and the least of all.
func TestBesideBlowAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	for _, kind := range []shape{plain, drifting, harmonic} {
		w := uneven(r, 24, func(t float64) float64 { return 1800 + 30*math.Sin(2*math.Pi*2.4*t) + 5*r.NormFloat64() })
		const hz, seconds, readings, worth, usual = 2.4, 0.5, 3, 12, 5.0
		var f window
		f.load(w, standard.Memory)
		f.solveFor(hz, kind)
		got := f.besideBlow(kind, seconds, readings, weigher{spare: 17, worth: worth, prior: worth * usual * usual, shaking: 1})

		cov := covariance(w, standard.Memory)
		cols := columnsOf(w, hz, kind)
		if kind == plain {
			cols = cols[:5]
		}
		white := whitened(t, cov, append(cols, values(w)))
		wave := residuals(t, white[:len(cols)], white[len(cols)])
		want := math.Inf(1)
		for from := 0; from+readings <= len(w); from++ {
			to := from
			for to < len(w) && (to-from < readings || w[to].T-w[from].T <= seconds) {
				to++
			}
			to = min(to+1, len(w)) // the reading behind is whitened with the last one taken out
			var stay [][]float64
			for _, c := range [][]float64{white[0], white[1], white[2], white[len(cols)]} {
				stay = append(stay, append(append([]float64{}, c[:from]...), c[to:]...))
			}
			healthy, shaking := 0.0, 0.0
			for _, x := range residuals(t, stay[:3], stay[3]) {
				healthy += x * x
			}
			for i, x := range wave {
				if i < from || i >= to {
					shaking += x * x
				}
			}
			spare := max(1, 17-float64(to-from))
			want = min(want, (spare+worth)/2*math.Log((healthy+worth*usual*usual)/(shaking+worth*usual*usual)))
		}
		if math.Abs(got-want) > 1e-6*math.Abs(want) {
			t.Errorf("%v: %v nats beside the blow, by gonum %v", kind, got, want)
		}
	}
}
