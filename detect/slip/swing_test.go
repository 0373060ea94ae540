package slip

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/judder-obd/judder/detect/series"
	"gonum.org/v1/gonum/stat"
)

func sine(n int, rate, hz, peakToPeak float64) []series.Reading {
	w := make([]series.Reading, n)
	for i := range w {
		t := float64(i) / rate
		w[i] = series.Reading{T: t, V: peakToPeak / 2 * math.Sin(2*math.Pi*hz*t)}
	}
	return w
}

// gonum's linear regression is the outside judge of the line.
func TestFitLineAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 50 {
		n := 3 + r.IntN(60)
		w := make([]series.Reading, n)
		x, y := make([]float64, n), make([]float64, n)
		at := 3600 * r.Float64()
		for i := range w {
			at += 0.02 + 0.2*r.Float64()
			w[i] = series.Reading{T: at, V: 1700 + 40*r.NormFloat64() + 3*at}
			x[i], y[i] = w[i].T, w[i].V
		}
		alpha, beta := stat.LinearRegression(x, y, nil, false)
		l := fitLine(w)
		for _, s := range x {
			if got, want := l.of(s), alpha+beta*s; math.Abs(got-want) > 1e-6 {
				t.Fatalf("at %v: %v, gonum %v", s, got, want)
			}
		}
	}
}

func TestFitLineOfOneReading(t *testing.T) {
	if l := fitLine([]series.Reading{{T: 5, V: 800}}); l.of(7) != 800 || l.slope != 0 {
		t.Errorf("line %+v", l)
	}
}

// A sine of f Hz over T s holds 2·f·T half swings of its whole peak-to-peak, the first and
// the last of half of it.
func TestZigzagCountsHalfWaves(t *testing.T) {
	n, first, last := zigzag(sine(301, 100, 2, 100), 90)
	if n != 11 {
		t.Errorf("%d swings, want 11", n)
	}
	if math.Abs(first-0.125) > 0.02 || math.Abs(last-2.875) > 0.02 {
		t.Errorf("from %v to %v, want 0.125 and 2.875", first, last)
	}
}

func TestKthSwingOfSine(t *testing.T) {
	for k := 1; k <= 10; k++ {
		if got := kthSwing(sine(301, 100, 2, 100), k); math.Abs(got-100) > 1.5 {
			t.Errorf("k %d: %v, want 100", k, got)
		}
	}
	if got := kthSwing(sine(301, 100, 2, 100), 14); got > 51 {
		t.Errorf("k 14 of 13 half swings: %v", got)
	}
}

// A swing of exactly the size counts, up or down, and equal values beside a turn are no swing (by hand).
func TestAtLeast(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		size float64
		k    int
		want bool
	}{
		{[]float64{0, 50}, 50, 1, true}, {[]float64{50, 0}, 50, 1, true}, {[]float64{0, 50}, 51, 1, false}, {[]float64{50, 0}, 51, 1, false},
		{[]float64{0, 50, 0}, 50, 2, true}, {[]float64{50, 0, 50}, 50, 2, true}, {[]float64{0, 50, 1}, 50, 2, false}, {[]float64{50, 0, 49}, 50, 2, false},
		{[]float64{0, 30, 20, 50, 0}, 50, 2, true}, {[]float64{0, 30, 20, 50, 0}, 30, 3, false}, {[]float64{0, 30, 20, 50, 0}, 10, 4, true},
		{[]float64{20, 20, 0, 50, 50, 20, 20}, 30, 2, true},
	} {
		if got := atLeast(c.x, c.size, c.k); got != c.want {
			t.Errorf("%v: %d swings of %v: %v", c.x, c.k, c.size, got)
		}
		if kept := swingsOf(slices.Clone(c.x), c.size); atLeast(kept, c.size, c.k) != c.want {
			t.Errorf("%v: of the swings of %v %v stay", c.x, c.size, kept)
		}
	}
	if got := kthSwing([]series.Reading{{V: 0}, {V: 100}, {V: 50}, {V: 100}}, 3); got != 50 { // half of the range, reached at the first halving
		t.Errorf("third swing %v, want 50", got)
	}
}

// One step is one swing however large: the reason for counting swings.
func TestStepIsOneSwing(t *testing.T) {
	w := make([]series.Reading, 30)
	for i := range w {
		w[i] = series.Reading{T: float64(i) / 10, V: 0}
		if i >= 12 {
			w[i].V = 300
		}
	}
	r := detrend(make([]series.Reading, len(w)), w, fitLine(w))
	if got := kthSwing(r, 4); got != 0 {
		t.Errorf("4th swing of a step %v, want 0", got)
	}
}

// kthSwing by its definition: the largest size of which zigzag still counts k.
func TestKthSwingAgainstZigzag(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 300 {
		w := make([]series.Reading, 4+r.IntN(80))
		for i := range w {
			w[i] = series.Reading{T: float64(i), V: math.Round(20 * r.NormFloat64())}
		}
		k := 1 + r.IntN(5)
		a := kthSwing(w, k)
		if n, _, _ := zigzag(w, a); a > 0 && n < k {
			t.Fatalf("k %d: size %v is counted %d times", k, a, n)
		}
		if n, _, _ := zigzag(w, a*1.02+1.5); n >= k {
			t.Fatalf("k %d: %v is not the largest, %d swings of %v", k, a, n, a*1.02+1.5)
		}
	}
}

// The 4th largest swing of 30 independent readings of s.d. 1: median by simulation, seed
// (7, 8), 4000 windows (computed here).
func TestKthSwingOfWhiteNoise(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	var all []float64
	for range 4000 {
		w := make([]series.Reading, 30)
		for i := range w {
			w[i] = series.Reading{T: float64(i) / 10, V: r.NormFloat64()}
		}
		all = append(all, kthSwing(w, 4))
	}
	if m := stat.Mean(all, nil); m < 2.6 || m > 3.4 {
		t.Errorf("mean %v standard deviations", m)
	}
}

func FuzzKthSwing(f *testing.F) {
	f.Add([]byte{0, 200, 3, 180, 9}, uint8(3))
	f.Fuzz(func(t *testing.T, b []byte, k uint8) {
		w := make([]series.Reading, min(len(b), maxWindow))
		for i := range w {
			w[i] = series.Reading{T: float64(i), V: float64(b[i])}
		}
		if a := kthSwing(w, int(k%8)+1); a < 0 || a > 255 {
			t.Errorf("swing %v of bytes", a)
		}
	})
}

// zigzag walks over w and counts the swings of at least size: moves from one extreme to the
// next that are not undone by a counter-move of that size before. first and last are the
// times at which the first such swing begins and the last one ends.
func zigzag(w []series.Reading, size float64) (n int, first, last float64) {
	if len(w) == 0 {
		return 0, 0, 0
	}
	low, high := w[0], w[0]
	dir := 0
	for _, r := range w[1:] {
		switch {
		case dir == 0:
			if r.V < low.V {
				low = r
			}
			if r.V > high.V {
				high = r
			}
			if high.V-low.V < size {
				continue
			}
			n = 1
			if high.T > low.T {
				dir, first, last = 1, low.T, high.T
			} else {
				dir, first, last = -1, high.T, low.T
			}
		case dir > 0:
			if r.V > high.V {
				high, last = r, r.T
			} else if high.V-r.V >= size {
				n, dir, low, last = n+1, -1, r, r.T
			}
		default:
			if r.V < low.V {
				low, last = r, r.T
			} else if r.V-low.V >= size {
				n, dir, high, last = n+1, 1, r, r.T
			}
		}
	}
	return n, first, last
}
