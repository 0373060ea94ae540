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

// The limits of the floor: ten looks are enough for a size, thirty for a colour and for the smoothest load,
// within 6 % of the load, or 12 where there are few; steady cruise comes before all pulling. Of looks of one
// size bin the quantile is at its share of the bin.
func TestFloor_Limits(t *testing.T) {
	th := &limits
	const bin = 20
	in := func(bin int) float64 { return sizeLow * math.Exp((float64(bin)+th.FloorQuantile)*sizeBin) }
	known := func(x, want float64) bool { return math.Abs(x-want) < 1e-9*want || math.IsNaN(x) && math.IsNaN(want) }
	for _, c := range []struct {
		name             string
		steady, any      int     // looks at 40 % of load
		near             int     // looks at the load asked for, in the bin above, all pulling
		load             float64 // asked for
		usual, smoothest float64
		colour           int
	}{
		{"ten", 10, 0, 0, 40, in(bin), math.NaN(), usualColour}, {"nine", 9, 0, 0, 40, math.NaN(), math.NaN(), usualColour},
		{"all pulling", 0, 10, 0, 40, in(bin), math.NaN(), usualColour},
		{"12 % away", 10, 0, 0, 52, in(bin), math.NaN(), usualColour}, {"14 % away", 10, 0, 0, 54, math.NaN(), math.NaN(), usualColour},
		{"12 % below", 10, 0, 0, 28, in(bin), math.NaN(), usualColour}, {"14 % below", 10, 0, 0, 26, math.NaN(), math.NaN(), usualColour},
		{"steady first", 10, 0, 50, 48, in(bin), math.NaN(), usualColour},
		{"all pulling is near", 0, 50, 10, 48, in(bin + 1), math.NaN(), usualColour},
		{"thirty", 30, 0, 0, 40, in(bin), in(bin), 2}, {"29", 29, 0, 0, 40, in(bin), math.NaN(), usualColour},
		{"thirty, 12 % away", 30, 0, 0, 52, in(bin), in(bin), 2}, {"14 % away", 30, 0, 0, 54, math.NaN(), in(bin), usualColour},
		{"thirty, 12 % below", 30, 0, 0, 28, in(bin), in(bin), 2},
	} {
		var f floor
		look := floorLook{load: loadOf(40), size: all(bin), likely: [colours]float64{1, 1.5, 3, 2}}
		for range c.steady {
			f.steady.keep(&look)
		}
		for range c.any {
			f.any.keep(&look)
		}
		for range c.near {
			f.any.keep(&floorLook{load: loadOf(c.load), size: all(bin + 1)})
		}
		usual, smoothest, colour := f.usual(c.load, 1, th), f.smoothest(1, th), f.colour(c.load, th)
		if !known(usual, c.usual) || !known(smoothest, c.smoothest) || colour != c.colour {
			t.Errorf("%s: usual %v, smoothest %v, colour %d; want %v, %v, %d", c.name, usual, smoothest, colour, c.usual, c.smoothest, c.colour)
		}
	}
	var f floor // the smoothest of two loads, whichever was seen first
	for range 30 {
		f.steady.keep(&floorLook{load: 30, size: all(bin)})
		f.steady.keep(&floorLook{load: 10, size: all(bin + 5)})
		f.steady.keep(&floorLook{load: 40, size: all(bin + 9)})
	}
	if got := f.smoothest(0, th); !known(got, in(bin)) {
		t.Errorf("smoothest %v, want %v", got, in(bin))
	}
}

// A look without a colour teaches none. A bin that is full counts half. A quantile goes from the beginning of the
// smallest look's bin to the end of the largest look's.
func TestFloor_Bins(t *testing.T) {
	var f floor
	for i := range binMost {
		if f.steady.keep(&floorLook{load: 20, size: all(10)}); i == binMost-2 && f.steady.sum[20] != binMost-1 {
			t.Errorf("%d looks of %d", f.steady.sum[20], i+1)
		}
	}
	if f.steady.sum[20] != binMost/2 || f.colour(40, &limits) != usualColour {
		t.Errorf("%d looks of %d, colour %d", f.steady.sum[20], binMost, f.colour(40, &limits))
	}
	for want, share := range map[float64]float64{10: 0, 10.5: binMost / 4, 11: binMost / 2} {
		if got := f.steady.quantile(1, 19, 21, share); !(math.Abs(got/(sizeLow*math.Exp(want*sizeBin))-1) <= 1e-9) {
			t.Errorf("%v looks are below %v rpm", share, got)
		}
	}
	if got, most := f.any.quantile(1, 0, loadBins-1, 1), sizeLow*math.Exp(sizeBins*sizeBin); !(math.Abs(got/most-1) <= 1e-9) {
		t.Errorf("of no looks one is below %v rpm, want the largest size, %v", got, most)
	}
}

// A look counts once it is 3 s old; the line is so long at most, and then the oldest counts at once. Each is
// counted by its size, in bins of 8 %, from 1 rpm on.
func TestFloor_Line(t *testing.T) {
	var f floor
	for i := range 25 {
		f.add(float64(i)/8, 40, 3, same(sizeLow*math.Exp((float64(i)+0.5)*sizeBin)), i%2 == 0, [colours]float64{})
		if want := max(0, i-23); f.kept != want || f.n != i+1-want {
			t.Errorf("%d looks in 1/8 s each: %d count, %d wait", i+1, f.kept, f.n)
		}
	}
	f.forget()
	for i := range 80 {
		f.add(10+float64(i)/32, 40, 3, same(0.1), false, [colours]float64{})
		if want := 1 + max(0, i+1-len(f.wait)); f.kept != want || f.n > len(f.wait) {
			t.Errorf("%d looks in 1/32 s each: %d count, %d wait", i+1, f.kept-1, f.n)
		}
	}
	if l := &f.any; l.sum[loadOf(40)] != f.kept || l.count[0][loadOf(40)][0] != uint16(f.kept) || f.steady.sum[loadOf(40)] != 1 {
		t.Errorf("%d looks in all, %d of them smallest, %d steady", l.sum[loadOf(40)], l.count[0][loadOf(40)][0], f.steady.sum[loadOf(40)])
	}
	for load, want := range map[float64]int{-3: 0, 0: 0, 0.95 * loadBin: 0, loadBin: 1, 25 * loadBin: 25, loadBin * (loadBins - 1): loadBins - 1, 130: loadBins - 1} {
		if got := loadOf(load); got != want {
			t.Errorf("a load of %v %% is in bin %d, want %d", load, got, want)
		}
	}
}
