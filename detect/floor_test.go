package detect

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// all is a size bin, and same a size, by every colour.
func all(bin int) (of [colours]int) {
	for k := range of {
		of[k] = bin
	}
	return of
}

func same(rms float64) (of [colours]float64) {
	for k := range of {
		of[k] = rms
	}
	return of
}

// The usual r.m.s. is the quantile of the looks at about the same load, found here by sorting.
func TestUsualAgainstSorting(t *testing.T) {
	r := rand.New(rand.NewPCG(15, 16))
	var f floor
	var at [3][]float64
	for i := range 900 {
		k := i % 3
		v := math.Exp(1 + float64(k) + 0.4*r.NormFloat64())
		at[k] = append(at[k], v)
		f.any.keep(&floorLook{load: loadOf(20 + 25*float64(k)), size: all(int(math.Log(max(v, sizeLow)) / sizeBin))})
	}
	for k, sizes := range at {
		slices.Sort(sizes)
		want := sizes[int(float64(len(sizes))*standard.FloorQuantile)]
		if got := f.usual(20+25*float64(k), k, &standard); math.Abs(got/want-1) > 0.08 { // bins are 8 % wide
			t.Errorf("load %d: %v, sorted %v", k, got, want)
		}
	}
	if got := f.usual(95, 0, &standard); !math.IsNaN(got) {
		t.Errorf("a load never seen has %v", got)
	}
}

// Looks wait: those of an alarm never count.
func TestForgottenLooksNeverCount(t *testing.T) {
	var f floor
	for i := range 40 {
		f.add(float64(i)*0.2, 30, 3, same(5), true, [colours]float64{})
	}
	for i := range 10 {
		f.add(8+float64(i)*0.2, 30, 3, same(90), true, [colours]float64{})
	}
	f.forget()
	for i := range 40 {
		f.add(20+float64(i)*0.2, 30, 3, same(5), true, [colours]float64{})
	}
	largest := standard
	largest.FloorQuantile = 1
	if got := f.usual(30, 1, &largest); got > 6 {
		t.Errorf("largest %v of fives after an alarm was forgotten", got)
	}
}

// Many looks at one load stay bounded, and the new outweigh the old.
func TestFloorIsBounded(t *testing.T) {
	var f floor
	for range 100000 {
		f.any.keep(&floorLook{load: 10, size: all(20)})
	}
	for range 1500 {
		f.any.keep(&floorLook{load: 10, size: all(40)})
	}
	if f.any.sum[10] >= binMost {
		t.Errorf("%d looks in one bin", f.any.sum[10])
	}
	if got, want := f.usual(20, 2, &standard), sizeLow*math.Exp(40*sizeBin); got < want {
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

// A look keeps its size by every colour: quick scatter is larger beside the wander of another colour than
// beside its own, and the floor does not mix the two.
func TestFloorBySizeAndColour(t *testing.T) {
	r := rand.New(rand.NewPCG(37, 38))
	noises := newNoises(&standard)
	var f floor
	const quick, made = colours - 1, 8.0
	for i := range 200 {
		w := scattered(t, r, &noises[quick], made, 17)
		var rms [colours]float64
		for k := range noises {
			var x window
			x.load(w, &noises[k])
			rms[k] = x.rms()
		}
		f.add(float64(i), 30, 3, rms, true, [colours]float64{})
	}
	half := standard
	half.FloorQuantile = 0.5
	own, other := f.usual(30, quick, &half), f.usual(30, 0, &half)
	if math.Abs(own-made) > 0.8 || other < 1.4*own {
		t.Errorf("made with %v rpm: %v by its own colour, %v by the one with least quick scatter", made, own, other)
	}
}
