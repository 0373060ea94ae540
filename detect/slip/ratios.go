package slip

import "math"

// ratios is where in ln(ratio) a car has been driven steadily, as seconds in narrow bins: of
// fixed size however long the drive. A locked clutch makes a peak; a gear that only slips
// makes one above it or a slope.
type ratios struct {
	held  [ratioBins]float32 // s of steady driving
	fresh [ratioBins]float32 // how often road speed was another whole number
	kmh   [ratioBins]float32 // road speed × s
	off   [ratioBins]float32 // from the middle of the bin, ln ratio × s
}

const (
	ratioLow  = 1.0   // ln of the smallest ratio, in rpm for each km/h
	ratioBin  = 0.004 // width of a bin: 7 rpm of 1700
	ratioBins = 1100  // up to e^5.4 rpm for each km/h
)

// What counts as a ratio that was held, chosen by what rounding of road speed does: 0.29
// km/h r.m.s. is 0.4 % at 70 km/h.
const (
	peakBins  = 2    // bins on either side of a peak that belong to it, 1 % and as wide as rounding makes it
	peakLeast = 5.0  // s that make a peak
	peakShare = 0.04 // of all that was seen near by, too
	// ratios nearer than sameRatio are one gear, of which the lowest is the locked one:
	// controlled slip is 20 to 80 rpm (published and from memory), up to 4 % of engine speed.
	sameRatio = 0.04
	// an open converter at a light cruise is 5 to 10 % above (computed from a public
	// converter table); two held ratios that are farther apart are two gears.
	nextGear = 0.10
	// held so long, a ratio between sameRatio and nextGear above another may be a gear (chosen), or
	// the same with its clutch open: no slip is reported of the upper one unless the gear is read
	gearLeast = 30.0 // s
	// engine speed may seem below the locked ratio by this much, through rounding alone.
	belowLocked = 0.015
)

// peak is a ratio that was held.
type peak struct {
	x    float64 // ln ratio
	held float64 // s
	n    float64 // independent looks at road speed in it
	kmh  float64 // mean road speed
}

func ratioIndex(x float64) int { return int(math.Floor((x - ratioLow) / ratioBin)) }

func binMiddle(i int) float64 { return ratioLow + (float64(i)+0.5)*ratioBin }

// add books steady driving at ln ratio x.
func (r *ratios) add(x, seconds, fresh, kmh float64) {
	if i := ratioIndex(x); i >= 0 && i < ratioBins {
		r.held[i] += float32(seconds)
		r.fresh[i] += float32(fresh)
		r.kmh[i] += float32(seconds * kmh)
		r.off[i] += float32(seconds * (x - binMiddle(i)))
	}
}

// around sums the bins about i that make a peak; i and its neighbours are from span.
func (r *ratios) around(i int) float64 {
	sum := float32(0)
	for j := i - peakBins; j <= i+peakBins; j++ {
		sum += r.held[j]
	}
	return float64(sum)
}

// at makes the peak about bin i.
func (r *ratios) at(i int) peak {
	var p peak
	for j := i - peakBins; j <= i+peakBins; j++ {
		h := float64(r.held[j])
		p.x += h*binMiddle(j) + float64(r.off[j])
		p.held += h
		p.n += float64(r.fresh[j])
		p.kmh += float64(r.kmh[j])
	}
	p.x /= p.held
	p.kmh /= p.held
	return p
}

// isPeak reports whether the bins about i hold more than those about each neighbour near by; of
// equals it is the lowest.
func (r *ratios) isPeak(i int, least float64) bool {
	m := r.around(i)
	if m < least {
		return false
	}
	for d := 1; d <= peakBins; d++ {
		if r.around(i-d) >= m || r.around(i+d) > m {
			return false
		}
	}
	return true
}

// least is how many seconds make a peak among what was seen between two ln ratios.
func (r *ratios) least(from, to int) float64 {
	sum := 0.0
	for _, h := range r.held[from : to+1] {
		sum += float64(h)
	}
	return max(peakLeast, peakShare*sum)
}

// span clips ln ratios to bins that can hold the middle of a peak.
func (r *ratios) span(low, high float64) (from, to int) {
	from = max(ratioIndex(low), 2*peakBins)
	return from, min(ratioIndex(high), ratioBins-1-2*peakBins)
}

// lowest returns the lowest ratio held between two ln ratios.
func (r *ratios) lowest(low, high float64) (peak, bool) {
	from, to := r.span(low, high)
	if from > to {
		return peak{}, false
	}
	least := r.least(from, to)
	for i := from; i <= to; i++ {
		if r.isPeak(i, least) {
			return r.at(i), true
		}
	}
	return peak{}, false
}

// under returns the locked ratio of the gear in which the car is driven at ln ratio x: the
// nearest ratio held below x, or the lowest of those that are one gear with it. The result is
// not known when that ratio was held for long and is as far above the next lower one as an open
// converter is above a locked one: it may be that gear with its clutch open, or another gear.
func (r *ratios) under(x float64) (peak, bool) {
	from, to := r.span(x-2*nextGear, x+belowLocked)
	if from > to {
		return peak{}, false
	}
	least := r.least(from, to)
	var base peak
	for i := to; i >= from; i-- {
		if !r.isPeak(i, least) {
			continue
		}
		p := r.at(i)
		switch gap := base.x - p.x; {
		case base.held == 0 && x-p.x > nextGear:
			return peak{}, false
		case base.held == 0 || gap < sameRatio || gap < nextGear && base.held < gearLeast:
			base = p
		case gap < nextGear:
			return peak{}, false
		default:
			return base, true
		}
	}
	return base, base.held > 0
}
