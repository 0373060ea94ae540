package detect

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func TestRunningMedianAgainstSorting(t *testing.T) {
	r := rand.New(rand.NewPCG(15, 16))
	m := newRunningMedian(20, 3, 400)
	type value struct{ t, v float64 }
	var all []value
	for i := range 2000 {
		at := float64(i) * 0.1
		v := math.Exp(1 + 0.7*r.NormFloat64())
		m.add(at, v)
		all = append(all, value{at, v})
		var counts []float64
		for _, x := range all {
			if x.t >= at-20 && x.t <= at-3 {
				counts = append(counts, x.v)
			}
		}
		if len(counts) < 30 || i%37 != 0 {
			continue
		}
		slices.Sort(counts)
		want := counts[(len(counts)-1)/2]
		if got := m.median(30); math.Abs(got/want-1) > 0.04 { // bins are 3 % wide
			t.Fatalf("at %v: %v, sorted %v", at, got, want)
		}
	}
}

func TestRunningMedianNeedsValues(t *testing.T) {
	m := newRunningMedian(20, 3, 50)
	for i := range 29 {
		m.add(float64(i)*0.1, 5)
	}
	m.advance(10)
	if got := m.median(30); !math.IsNaN(got) {
		t.Errorf("29 values of 30: %v", got)
	}
}

func TestForgottenValuesNeverCount(t *testing.T) {
	m := newRunningMedian(20, 3, 400)
	for i := range 100 {
		m.add(float64(i)*0.1, 5)
	}
	for i := range 20 {
		m.add(10+float64(i)*0.1, 900)
	}
	m.forget()
	m.advance(18)
	if got := m.median(10); got > 6 {
		t.Errorf("median %v of fives after an alarm was forgotten", got)
	}
}

// A full ring drops its oldest value.
func TestRunningMedianFullRing(t *testing.T) {
	m := newRunningMedian(1000, 0, 11)
	for i := range 100 {
		m.add(float64(i), float64(i))
	}
	m.advance(200)
	if m.n != 10 {
		t.Errorf("%d values in a ring of 10", m.n)
	}
}

// Independent readings of one s.d. give that s.d. whatever the neighbours' place: the
// factor √(1 + a² + (1−a)²) follows from the variance of a sum.
func TestQuickScatterIsTheStandardDeviation(t *testing.T) {
	r := rand.New(rand.NewPCG(17, 18))
	for _, rate := range []float64{5, 10, 20} {
		var sum, n float64
		w := make([]reading, 4000)
		at := 0.0
		for i := range w {
			at += (0.7 + 0.6*r.Float64()) / rate
			w[i] = reading{at, 3*at + 4*r.NormFloat64()}
		}
		for i := range w {
			if v, ok := quickScatter(w, i, 0.17); ok {
				sum += v * v
				n++
			}
		}
		if sd := math.Sqrt(sum / n); math.Abs(sd-4) > 0.25 {
			t.Errorf("%v a second: %v rpm, made with 4", rate, sd)
		}
	}
}

func TestQuickScatterAtTheEnds(t *testing.T) {
	w := []reading{{0, 1}, {0.1, 2}, {0.2, 3}}
	for i := range w {
		if _, ok := quickScatter(w, i, 0.17); ok {
			t.Errorf("reading %d has no neighbour 0.17 s away on both sides", i)
		}
	}
}

// The lower of two floors: a car that shudders whenever it drives is still quiet at a crawl.
func TestFloorIsTheLowerOfTwo(t *testing.T) {
	f := newFloors(&standard)
	for i := range 400 {
		at := float64(i) * 0.1
		f.driving.add(at, 40)
		f.crawl.add(at, 3)
	}
	if got := f.scatter(&standard); math.Abs(got-3*toSigma) > 0.3 {
		t.Errorf("floor %v, want %v", got, 3*toSigma)
	}
}
