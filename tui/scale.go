package tui

import (
	"math"
	"time"
)

// scale is the value axis of a picture. It does not move while the data moves inside it,
// widens at once in round steps, and narrows only when the data has needed much
// less for a while. The zero value fits whatever it follows first.
type scale struct {
	lo, hi  float64
	roomy   time.Duration // since when the data needs much less; -1 when it does not
	last    time.Duration
	parts   int
	settled bool
}

const (
	narrowAfter = 6 * time.Second // this much of the drive's time with too wide an axis
	narrowShare = 0.55            // of the axis that the data needs, or less
)

// follow moves the scale for data between lo and hi, which must span at least smallest on
// the axis, at time now of the drive. The axis has parts steps, so that with a row to each
// end of a step every row's label is a round number. NaN leaves it alone.
func (s *scale) follow(lo, hi, smallest float64, parts int, now time.Duration) {
	if math.IsNaN(lo) || math.IsNaN(hi) {
		return
	}
	wantLo, wantHi := stepped(lo, hi, smallest, parts)
	other := now < s.last || parts != s.parts
	s.last, s.parts = now, parts
	switch {
	case !s.settled, other, lo < s.lo, hi > s.hi:
		s.lo, s.hi, s.roomy, s.settled = wantLo, wantHi, -1, true
	case wantHi-wantLo > narrowShare*(s.hi-s.lo):
		s.roomy = -1
	case s.roomy < 0:
		s.roomy = now
	case now-s.roomy >= narrowAfter:
		s.lo, s.hi, s.roomy = wantLo, wantHi, -1
	}
}

// stepped returns bounds around lo and hi, parts round steps and at least smallest apart,
// with the data about in the middle.
func stepped(lo, hi, smallest float64, parts int) (float64, float64) {
	const most = 1e9 // more than any signal of SAE J1979
	smallest = min(smallest, most)
	lo, hi = max(min(lo, most), -most), max(min(hi, most), -most)
	n := float64(max(parts, 2)) // one step cannot hold data on both sides of zero
	step := roundStep(max(hi-lo, smallest, 1e-3) / n)
	for {
		bottom := math.Floor(lo/step) * step
		if top := bottom + n*step; top >= hi {
			bottom -= math.Floor((top-hi)/step/2) * step
			return bottom, bottom + n*step
		}
		step = roundStep(step * 1.001)
	}
}

// roundStep is the smallest round number that is at least x.
func roundStep(x float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 1.5, 2, 2.5, 3, 4, 5, 6, 8} {
		if m*p >= x {
			return m * p
		}
	}
	return 10 * p
}

// smallestSpan is the least that the axis of a unit spans, so that the noise of a steady
// signal does not fill its picture.
var smallestSpan = map[string]float64{
	"rpm": 100, "km/h": 20, "%": 20, "°C": 20, "V": 2, "kPa": 20, "g/s": 5, "°": 10,
}

func smallestFor(unit string) float64 {
	if s, ok := smallestSpan[unit]; ok {
		return s
	}
	return 1
}
