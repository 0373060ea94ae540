package detect

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/judder-obd/judder/detect/series"
)

// The evidence beside a blow is that of the readings which stay: weighted least squares by gonum under
// their own covariance, for every stretch that may be taken out, and the least of all. Where fewer than four
// readings stay there is none.
func TestBesideBlowAgainstGonum(t *testing.T) {
	const hz, readings, worth, usual, amplitude = 2.4, 3, 12.0, 5.0, 30.0
	r := rand.New(rand.NewPCG(21, 22))
	n := newNoise(0.25, 0.7, 0.08)
	for _, c := range []struct {
		name         string
		kind         shape
		n            int
		seconds      float64
		first, last  float64 // rpm, a blow at the first reading, and at the last three
		waves, shown bool    // the window that the wave is fitted to has one, and the one that is weighed
	}{
		{"plain", plain, 24, 0.5, 0, 0, true, true}, {"drifting", drifting, 24, 0.5, 0, 0, true, true}, {"harmonic", harmonic, 24, 0.5, 0, 0, true, true},
		{"blow at the end", plain, 24, 0.1, 0, 300, true, true}, {"blow at the beginning", plain, 24, 0.1, 300, 0, true, true},
		{"a wave that is not there", plain, 24, 0.3, 0, 0, true, false},
		{"four stay", plain, 4 + readings, 0.01, 0, 0, true, true}, {"three stay", plain, 3 + readings, 0.01, 0, 0, true, true},
	} {
		scatter := func(float64) float64 { return 1800 + 5*r.NormFloat64() }
		w := uneven(r, c.n, scatter)
		waving := make([]series.Reading, c.n)
		for i, x := range w {
			waving[i] = series.Reading{T: x.T, V: x.V + amplitude*math.Sin(2*math.Pi*hz*x.T)}
		}
		if c.shown {
			copy(w, waving)
		}
		w[0].V += c.first
		for i := c.n - 3; i < c.n; i++ {
			w[i].V += c.last
		}
		from := waving
		if c.shown {
			from = w
		}
		var f, rest window
		f.load(from, &n)
		f.solveFor(hz, c.kind)
		f.load(w, &n)
		got := f.besideBlow(c.seconds, readings, weigher{spare: 17, worth: worth, prior: worth * usual * usual, shaking: 1}, &rest)

		columns := columnsOf(w, hz, c.kind)
		white := whitened(t, covariance(w, n), append(columns[:len(columns):len(columns)], values(from)))
		x, _ := leastSquares(t, white[:len(columns)], white[len(columns)])
		want := math.Inf(1)
		for from := 0; from+readings <= len(w); from++ {
			to := from
			for to < len(w) && (to-from < readings || w[to].T-w[from].T <= c.seconds) {
				to++
			}
			stay := append(w[:from:from], w[to:]...)
			var beside []float64 // the readings without the wave
			var parabola [3][]float64
			for i := range w {
				if i >= from && i < to {
					continue
				}
				sum := 0.0
				for k := 3; k < len(columns); k++ {
					sum += x[k] * columns[k][i]
				}
				beside = append(beside, w[i].V-sum)
				for k := range parabola {
					parabola[k] = append(parabola[k], columns[k][i])
				}
			}
			if len(stay) < 4 {
				want = 0
				break
			}
			cov := covariance(stay, n)
			healthy, shaking := generalised(t, cov, parabola[:], values(stay)), generalised(t, cov, parabola[:], beside)
			spare := max(1, 17-float64(to-from))
			want = min(want, (spare+worth)/2*math.Log((healthy+worth*usual*usual)/(shaking+worth*usual*usual)))
		}
		if !(math.Abs(got-want) <= 1e-6*math.Abs(want)) || c.n > 6 && want == 0 {
			t.Errorf("%s: %v nats beside the blow, by gonum %v", c.name, got, want)
		}
	}
}

// A stretch has at least so many readings and seconds, both ends with it, where the window has as many; a window
// may be taken out whole. By hand, at 8 readings a second.
func TestWithout(t *testing.T) {
	for _, c := range []struct {
		n, from  int
		seconds  float64
		readings int
		want     int
	}{
		{20, 0, 0.25, 3, 3}, {20, 5, 0.5, 3, 5}, {20, 5, 0.49, 3, 4}, {20, 5, 0, 1, 1}, {20, 5, 0.25, 6, 6},
		{20, 17, 0.25, 3, 3}, {20, 18, 0.25, 3, 2}, {3, 0, 9, 3, 3},
	} {
		w := make([]series.Reading, c.n)
		for i := range w {
			w[i] = series.Reading{T: float64(i) / 8, V: float64(i * i * i)}
		}
		var f, rest window
		f.load(w, &white)
		if out := rest.without(&f, c.from, c.seconds, c.readings); out != c.want || rest.n != c.n-c.want || rest.n > c.from && rest.read[c.from] != w[c.from+c.want] {
			t.Errorf("%+v: %d out, %d stay", c, out, rest.n)
		}
	}
}
