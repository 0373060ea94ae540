package detect

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// The usual r.m.s. is the quantile of the looks at about the same load, found here by sorting.
func TestUsualAgainstSorting(t *testing.T) {
	r := rand.New(rand.NewPCG(15, 16))
	var f floor
	var at [3][]float64
	for i := range 900 {
		k := i % 3
		v := math.Exp(1 + float64(k) + 0.4*r.NormFloat64())
		at[k] = append(at[k], v)
		f.any.keep(&floorLook{load: loadOf(20 + 25*float64(k)), size: int(math.Log(max(v, sizeLow)) / sizeBin)})
	}
	for k, all := range at {
		slices.Sort(all)
		want := all[int(float64(len(all))*standard.FloorQuantile)]
		if got := f.usual(20+25*float64(k), &standard); math.Abs(got/want-1) > 0.08 { // bins are 8 % wide
			t.Errorf("load %d: %v, sorted %v", k, got, want)
		}
	}
	if got := f.usual(95, &standard); !math.IsNaN(got) {
		t.Errorf("a load never seen has %v", got)
	}
}

// Looks wait: those of an alarm never count.
func TestForgottenLooksNeverCount(t *testing.T) {
	var f floor
	for i := range 40 {
		f.add(float64(i)*0.2, 30, 5, 3, true, [colours]float64{})
	}
	for i := range 10 {
		f.add(8+float64(i)*0.2, 30, 90, 3, true, [colours]float64{})
	}
	f.forget()
	for i := range 40 {
		f.add(20+float64(i)*0.2, 30, 5, 3, true, [colours]float64{})
	}
	all := standard
	all.FloorQuantile = 1
	if got := f.usual(30, &all); got > 6 {
		t.Errorf("largest %v of fives after an alarm was forgotten", got)
	}
}

// Many looks at one load stay bounded, and the new outweigh the old.
func TestFloorIsBounded(t *testing.T) {
	var f floor
	for range 100000 {
		f.any.keep(&floorLook{load: 10, size: 20})
	}
	for range 1500 {
		f.any.keep(&floorLook{load: 10, size: 40})
	}
	if f.any.sum[10] >= binMost {
		t.Errorf("%d looks in one bin", f.any.sum[10])
	}
	if got, want := f.usual(20, &standard), sizeLow*math.Exp(40*sizeBin); got < want {
		t.Errorf("usual %v, lately %v and more", got, want)
	}
}

// The colour that is learnt is the one by which the scatter was made, and each load has its own.
func TestColourIsLearnt(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	noises := newNoises(&standard)
	var f floor
	loads := []float64{15, 50, 85}
	for k, colour := range []int{1, 2, 3} {
		for range 60 {
			w := scattered(t, r, &noises[colour], 6, 17)
			var likely [colours]float64
			for c := range noises {
				var x window
				x.load(w, &noises[c])
				likely[c] = x.likelihood()
			}
			f.steady.keep(&floorLook{load: loadOf(loads[k]), likely: likely})
		}
		if got := f.colour(loads[k], &standard); got != colour {
			t.Errorf("scatter of colour %d is taken for %d", colour, got)
		}
	}
	if got := f.colour(33, &standard); got != usualColour {
		t.Errorf("a load never seen has colour %d", got)
	}
}
