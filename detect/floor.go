package detect

import "math"

// The floor keeps each look at the car's own scatter in a bin of engine load and a bin of size.
const (
	loadBin   = 2.0 // %
	loadBins  = 51
	sizeLow   = 1.0  // rpm
	sizeBin   = 0.08 // ln: bins are 8 % wide
	sizeBins  = 64   // to 160 rpm
	binMost   = 600  // looks at one load: more, and all of them count half
	lookEvery = 0.2  // s
)

// floor is what engine speed does by itself under each load: its colour, and the r.m.s. about a parabola
// with that. A misfire that comes only under load is then its own floor.
type floor struct {
	steady, any looks         // in steady cruise, and in all pulling
	wait        [32]floorLook // looks that do not count yet: an alarm may show what they are
	from        int
	n           int
	kept        int // looks that counted, in all
}

// floorLook is a look that waits.
type floorLook struct {
	t      float64
	load   int
	size   [colours]int
	steady bool
	likely [colours]float64
}

// looks counts looks by load and size, and the size by the colour that it is measured with.
type looks struct {
	count  [colours][loadBins][sizeBins]uint16
	sum    [loadBins]int
	likely [loadBins][colours]float64 // ln of how likely each colour of the scatter is
}

func loadOf(load float64) int { return int(clampTo(load/loadBin, 0, loadBins-1)) }

// add puts a look in line; it counts once it is lag seconds old.
func (f *floor) add(t, load, lag float64, rms [colours]float64, steady bool, likely [colours]float64) {
	for f.n > 0 && (f.wait[f.from].t <= t-lag || f.n == len(f.wait)) {
		l := f.wait[f.from]
		f.any.keep(&l)
		if l.steady {
			f.steady.keep(&l)
		}
		f.kept++
		f.from = (f.from + 1) % len(f.wait)
		f.n--
	}
	l := floorLook{t: t, load: loadOf(load), steady: steady, likely: likely}
	for k, x := range rms {
		l.size[k] = int(clampTo(math.Log(max(x, sizeLow)/sizeLow)/sizeBin, 0, sizeBins-1))
	}
	f.wait[(f.from+f.n)%len(f.wait)] = l
	f.n++
}

func (f *looks) keep(l *floorLook) {
	load := l.load
	for k, size := range l.size {
		f.count[k][load][size]++
	}
	f.sum[load]++
	for k, x := range l.likely {
		f.likely[load][k] += x
	}
	if f.sum[load] < binMost {
		return
	}
	for k := range f.likely[load] {
		f.likely[load][k] /= 2
	}
	f.sum[load] = 0
	for k := range f.count {
		for i := range f.count[k][load] {
			f.count[k][load][i] /= 2
		}
	}
	for _, n := range f.count[usualColour][load] {
		f.sum[load] += int(n)
	}
}

// forget takes the looks that still wait out of line: they belong to an alarm.
func (f *floor) forget() { f.n = 0 }

// usual returns the usual size of the scatter of a colour under a load: a quantile of the looks in steady
// cruise at about that load, or where there are few of all pulling; NaN where there are too few.
// While a car speeds up, its gears and its converter move engine speed, too.
func (f *floor) usual(load float64, colour int, th *Tuning) float64 {
	for _, l := range []*looks{&f.steady, &f.any} {
		for _, near := range []float64{th.FloorLoad, 2 * th.FloorLoad} {
			from, to, n := l.about(load, near)
			if n >= int(th.FloorLooks) {
				return l.quantile(colour, from, to, th.FloorQuantile*float64(n))
			}
		}
	}
	return math.NaN()
}

// colour returns the likeliest colour of the scatter under a load, by the looks in steady cruise; the
// usual one where there are few.
func (f *floor) colour(load float64, th *Tuning) int {
	best := usualColour
	from, to, n := f.steady.about(load, 2*th.FloorLoad)
	if n < 3*int(th.FloorLooks) {
		return best
	}
	var sum [colours]float64
	for i := from; i <= to; i++ {
		for k, x := range f.steady.likely[i] {
			sum[k] += x
		}
	}
	for k, x := range sum {
		if x > sum[best] {
			best = k
		}
	}
	return best
}

// smoothest returns the usual size of the scatter of a colour, in steady cruise under the load where it
// is least; NaN where there are too few looks.
func (f *floor) smoothest(colour int, th *Tuning) float64 {
	least := math.NaN()
	for load := range loadBins {
		if n := f.steady.sum[load]; n >= 3*int(th.FloorLooks) {
			if u := f.steady.quantile(colour, load, load, th.FloorQuantile*float64(n)); !(u >= least) {
				least = u
			}
		}
	}
	return least
}

// about returns the bins of load within near % of a load, and how many looks they have.
func (f *looks) about(load, near float64) (from, to, n int) {
	from, to = loadOf(load-near), loadOf(load+near)
	for _, looks := range f.sum[from : to+1] {
		n += looks
	}
	return from, to, n
}

// quantile returns the size below which want of the looks of some loads are.
func (f *looks) quantile(colour, from, to int, want float64) float64 {
	below := 0.0
	for size := range sizeBins {
		n := 0.0
		for load := from; load <= to; load++ {
			n += float64(f.count[colour][load][size])
		}
		if n > 0 && below+n >= want {
			return sizeLow * math.Exp((float64(size)+(want-below)/n)*sizeBin)
		}
		below += n
	}
	return sizeLow * math.Exp(sizeBins*sizeBin)
}
