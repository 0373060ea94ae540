package detect

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/judder-obd/judder/detect/series"
)

// besideByGonum returns the evidence beside a stretch of readings: weighted least squares by gonum of what stays,
// under its own covariance, for every stretch that may be taken out, and the least of all.
func besideByGonum(t *testing.T, w []series.Reading, wave []float64, n noise, seconds, spare, worth, usual float64) float64 {
	t.Helper()
	least := math.Inf(1)
	for from := 0; from < len(w); from++ {
		to := from
		for to < len(w) && w[to].T-w[from].T <= seconds {
			to++
		}
		var stay, beside []series.Reading // as it is read, and without the wave
		for i, x := range w {
			if i < from || i >= to {
				stay, beside = append(stay, x), append(beside, series.Reading{T: x.T, V: x.V - wave[i]})
			}
		}
		cov, parabola := covariance(stay, n), columnsOf(stay, 1, plain)[:3]
		healthy, shaking := generalised(t, cov, parabola, values(stay)), generalised(t, cov, parabola, values(beside))
		least = min(least, (max(1, spare-float64(to-from))+worth)/2*math.Log((healthy+worth*usual*usual)/(shaking+worth*usual*usual)))
	}
	return least
}

// The evidence beside a blow is that of the readings which stay. Where fewer than four stay there is none.
func TestBesideBlowAgainstGonum(t *testing.T) {
	const hz, spare, worth, usual = 2.4, 17.0, 12.0, 5.0
	r := rand.New(rand.NewPCG(21, 22))
	n := newNoise(0.25, 0.7, 0.08)
	for _, c := range []struct {
		name        string
		kind        shape
		n           int
		seconds     float64
		wave, shown float64 // rpm, of the window that the wave is fitted to, and of the one that is weighed
		first, last float64 // rpm, a blow at the first three readings, and at the last
	}{
		{"plain", plain, 24, 0.5, 30, 30, 0, 0}, {"drifting", drifting, 24, 0.5, 30, 30, 0, 0}, {"harmonic", harmonic, 24, 0.5, 30, 30, 0, 0},
		{"blow at the end", drifting, 24, 0.25, 0, 0, 0, 300}, {"blow at the beginning", drifting, 24, 0.25, 0, 0, 300, 0},
		{"a wave that is not there", plain, 24, 0.3, 30, 0, 0, 0},
		{"four stay", plain, 5, 0.01, 30, 30, 0, 0}, {"three stay", plain, 4, 0.01, 30, 30, 0, 0},
	} {
		w := uneven(r, c.n, func(float64) float64 { return 1800 + 5*r.NormFloat64() })
		for i := range 3 {
			w[i].V += c.first
			w[c.n-1-i].V += c.last
		}
		waving := slices.Clone(w)
		for i, x := range w {
			waving[i].V += c.wave * math.Sin(2*math.Pi*hz*x.T)
			w[i].V += c.shown * math.Sin(2*math.Pi*hz*x.T)
		}
		var f, rest window
		f.load(waving, &n)
		f.solveFor(hz, c.kind)
		f.load(w, &n)
		got := f.besideBlow(c.seconds, weigher{spare: spare, worth: worth, prior: worth * usual * usual, shaking: 1}, &rest)

		want := 0.0
		if c.n >= 5 {
			columns := columnsOf(w, hz, c.kind)
			white := whitened(t, covariance(w, n), append(columns[:len(columns):len(columns)], values(waving)))
			x, _ := leastSquares(t, white[:len(columns)], white[len(columns)])
			wave := make([]float64, c.n)
			for k := 3; k < len(columns); k++ {
				for i := range wave {
					wave[i] += x[k] * columns[k][i]
				}
			}
			want = besideByGonum(t, w, wave, n, c.seconds, spare, worth, usual)
		}
		if !(math.Abs(got-want) <= 1e-6*math.Abs(want)) {
			t.Errorf("%s: %v nats beside the blow, by gonum %v", c.name, got, want)
		}
	}
}

// A stretch has so many seconds, both ends with it, or ends with the window. A window may be taken out whole. By hand, at 8 readings a second.
func TestWithout(t *testing.T) {
	for _, c := range []struct {
		n, from int
		seconds float64
		want    int
	}{
		{20, 0, 0.25, 3}, {20, 5, 0.5, 5}, {20, 5, 0.49, 4}, {20, 5, 0, 1},
		{20, 17, 0.25, 3}, {20, 18, 0.25, 2}, {3, 0, 9, 3},
	} {
		w := make([]series.Reading, c.n)
		for i := range w {
			w[i] = series.Reading{T: float64(i) / 8, V: float64(i * i * i)}
		}
		var f, rest window
		f.load(w, &white)
		if out := rest.without(&f, c.from, c.seconds); out != c.want || rest.n != c.n-c.want || rest.n > c.from && rest.read[c.from] != w[c.from+c.want] {
			t.Errorf("%+v: %d out, %d stay", c, out, rest.n)
		}
	}
}
