package detect

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"
)

func sine(n int, rate, hz, peakToPeak float64) []reading {
	w := make([]reading, n)
	for i := range w {
		t := float64(i) / rate
		w[i] = reading{t, peakToPeak / 2 * math.Sin(2*math.Pi*hz*t)}
	}
	return w
}

// gonum's linear regression is the outside judge of the line.
func TestFitLineAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 50 {
		n := 3 + r.IntN(60)
		w := make([]reading, n)
		x, y := make([]float64, n), make([]float64, n)
		at := 3600 * r.Float64()
		for i := range w {
			at += 0.02 + 0.2*r.Float64()
			w[i] = reading{at, 1700 + 40*r.NormFloat64() + 3*at}
			x[i], y[i] = w[i].t, w[i].v
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
	if l := fitLine([]reading{{5, 800}}); l.of(7) != 800 || l.slope != 0 {
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

// One step is one swing however large: the reason for counting swings.
func TestStepIsOneSwing(t *testing.T) {
	w := make([]reading, 30)
	for i := range w {
		w[i] = reading{float64(i) / 10, 0}
		if i >= 12 {
			w[i].v = 300
		}
	}
	r := detrend(make([]reading, len(w)), w, fitLine(w))
	if got := kthSwing(r, 4); got != 0 {
		t.Errorf("4th swing of a step %v, want 0", got)
	}
}

// kthSwing by its definition: the largest size of which zigzag still counts k.
func TestKthSwingAgainstZigzag(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 300 {
		w := make([]reading, 4+r.IntN(80))
		for i := range w {
			w[i] = reading{float64(i), math.Round(20 * r.NormFloat64())}
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
		w := make([]reading, 30)
		for i := range w {
			w[i] = reading{float64(i) / 10, r.NormFloat64()}
		}
		all = append(all, kthSwing(w, 4))
	}
	if m := stat.Mean(all, nil); m < 2.6 || m > 3.4 {
		t.Errorf("mean %v standard deviations", m)
	}
}

func TestShownShare(t *testing.T) {
	for _, c := range []struct {
		n    int
		want float64
	}{{7, 0}, {8, .36}, {15, .75}, {30, .93}, {200, .98}} {
		if got := shownShare(c.n); got != c.want {
			t.Errorf("%d readings: %v, want %v", c.n, got, c.want)
		}
	}
	for n := 8; n < 80; n++ {
		if shownShare(n+1) < shownShare(n) {
			t.Errorf("falls at %d readings", n)
		}
	}
}

func FuzzKthSwing(f *testing.F) {
	f.Add([]byte{0, 200, 3, 180, 9}, uint8(3))
	f.Fuzz(func(t *testing.T, b []byte, k uint8) {
		w := make([]reading, min(len(b), maxWindow))
		for i := range w {
			w[i] = reading{float64(i), float64(b[i])}
		}
		if a := kthSwing(w, int(k%8)+1); a < 0 || a > 255 {
			t.Errorf("swing %v of bytes", a)
		}
	})
}
