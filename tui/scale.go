package tui

import (
	"math"
	"time"
)

// scale is the value axis of a picture. It stands still while the data moves inside it,
// widens at once in steps of 1, 2 or 5, and narrows only when the data has needed much
// less for a while.
type scale struct {
	lo, hi  float64
	roomy   time.Duration // since when the data needs much less; -1 when it does not
	last    time.Duration
	settled bool
}

const (
	narrowAfter = 6 * time.Second // this much of the drive's time with too wide an axis
	narrowShare = 0.55            // of the axis that the data needs, or less
)

// follow moves the scale for data between lo and hi, which must span at least smallest on
// the axis, at time now of the drive. NaN leaves it alone.
func (s *scale) follow(lo, hi, smallest float64, now time.Duration) {
	if math.IsNaN(lo) || math.IsNaN(hi) {
		return
	}
	wantLo, wantHi := stepped(lo, hi, smallest)
	back := now < s.last
	s.last = now
	switch {
	case !s.settled, back, lo < s.lo, hi > s.hi:
		s.lo, s.hi, s.roomy, s.settled = wantLo, wantHi, -1, true
	case wantHi-wantLo > narrowShare*(s.hi-s.lo):
		s.roomy = -1
	case s.roomy < 0:
		s.roomy = now
	case now-s.roomy >= narrowAfter:
		s.lo, s.hi, s.roomy = wantLo, wantHi, -1
	}
}

// stepped returns bounds around lo and hi on whole steps, at least smallest apart.
func stepped(lo, hi, smallest float64) (float64, float64) {
	const most = 1e9
	lo, hi = max(min(lo, most), -most), max(min(hi, most), -most)
	width := max(hi-lo, smallest, 1e-3)
	step := niceStep(width / 4)
	bottom := math.Floor(lo/step) * step
	top := math.Ceil(hi/step) * step
	for i := 0; top-bottom < width && i < 8; i++ { // data narrower than smallest: room on both sides
		top += step
		if top-bottom < width {
			bottom -= step
		}
	}
	return bottom, top
}

// niceStep is the smallest of 1, 2, 5 times a power of ten that is at least x.
func niceStep(x float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
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
