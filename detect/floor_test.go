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
		f.any.keep(loadOf(20+25*float64(k)), int(math.Log(max(v, sizeLow))/sizeBin))
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
		f.add(float64(i)*0.2, 30, 5, 3, true)
	}
	for i := range 10 {
		f.add(8+float64(i)*0.2, 30, 90, 3, true)
	}
	f.forget()
	for i := range 40 {
		f.add(20+float64(i)*0.2, 30, 5, 3, true)
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
		f.any.keep(10, 20)
	}
	for range 1500 {
		f.any.keep(10, 40)
	}
	if f.any.sum[10] >= binMost {
		t.Errorf("%d looks in one bin", f.any.sum[10])
	}
	if got, want := f.usual(20, &standard), sizeLow*math.Exp(40*sizeBin); got < want {
		t.Errorf("usual %v, lately %v and more", got, want)
	}
}
