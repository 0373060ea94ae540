package tui

import (
	"math"
	"slices"
	"time"

	"github.com/judder-obd/judder/session"
)

// column is what the readings of one column's time hold: the lowest, the highest and the
// one farthest from the mean of the picture; all NaN when there is no reading and none
// that still holds.
type column struct{ lo, hi, far float64 }

var emptyColumn = column{math.NaN(), math.NaN(), math.NaN()}

// timeAxis says which time each column of a picture is for. Columns begin at whole
// multiples of per, so that a picture moves by whole columns and never shimmers.
type timeAxis struct {
	first time.Duration // where the first column begins
	per   time.Duration // time of a column
	n     int
}

// axisEnding returns the time axis of n columns; the last one holds now.
func axisEnding(now, per time.Duration, n int) timeAxis {
	last := now / per // the drive's clock is never negative
	return timeAxis{first: (last - time.Duration(n-1)) * per, per: per, n: n}
}

// at returns the column of time t; it may lie outside 0..n-1.
func (a timeAxis) at(t time.Duration) int {
	d := t - a.first
	if d < 0 {
		return int((d - a.per + 1) / a.per)
	}
	return int(d / a.per)
}

// holdTime is how long a reading holds when no other follows: three of the usual intervals
// between readings, at least a second.
func holdTime(pts []session.Point) time.Duration {
	if len(pts) < 2 {
		return 10 * time.Second
	}
	return max(3*usualInterval(pts), time.Second)
}

// usualInterval is the median time between the latest readings, at least two.
func usualInterval(pts []session.Point) time.Duration {
	var gaps [15]time.Duration
	n := 0
	for i := len(pts) - 1; i > 0 && n < len(gaps); i-- {
		gaps[n] = pts[i].At - pts[i-1].At
		n++
	}
	slices.Sort(gaps[:n])
	return gaps[n/2]
}

// columns sorts readings into the columns of an axis, by their true times. A column without
// a reading keeps the last one while it holds (hold) and no longer than until now; after
// that it is empty: a gap in the data is a gap in the picture. dst is reused.
func columns(dst []column, pts []session.Point, axis timeAxis, now, hold time.Duration) []column {
	dst = dst[:0]
	for range axis.n {
		dst = append(dst, emptyColumn)
	}
	pts = pts[firstPoint(pts, axis.first-hold):]
	mean := meanOf(pts)
	for i, p := range pts {
		if math.IsNaN(p.Value) || math.IsInf(p.Value, 0) {
			continue
		}
		until := min(p.At+hold, now)
		if i+1 < len(pts) {
			until = min(until, pts[i+1].At-1)
		}
		c := axis.at(p.At)
		if c >= 0 && c < axis.n {
			dst[c].add(p.Value, mean)
		}
		for c = max(c+1, 0); c < axis.n && c <= axis.at(until); c++ {
			dst[c].add(p.Value, mean)
		}
	}
	return dst
}

// firstPoint is the index of the first point not before t.
func firstPoint(pts []session.Point, t time.Duration) int {
	i, _ := slices.BinarySearchFunc(pts, t, func(p session.Point, t time.Duration) int { return int(p.At - t) })
	return i
}

func (c *column) add(v, mean float64) {
	if math.IsNaN(c.lo) {
		*c = column{v, v, v}
		return
	}
	c.lo, c.hi = min(c.lo, v), max(c.hi, v)
	if math.Abs(v-mean) > math.Abs(c.far-mean) {
		c.far = v
	}
}

func meanOf(pts []session.Point) float64 {
	sum, n := 0.0, 0
	for _, p := range pts {
		if !math.IsNaN(p.Value) && !math.IsInf(p.Value, 0) {
			sum += p.Value
			n++
		}
	}
	return sum / float64(max(n, 1))
}

// rangeOf returns the lowest and the highest value in cols that is at least floor; NaN, NaN
// when there is none.
func rangeOf(cols []column, floor float64) (lo, hi float64) {
	lo, hi = math.NaN(), math.NaN()
	for _, c := range cols {
		if !(c.hi >= floor) {
			continue
		}
		bottom := c.lo
		if bottom < floor {
			bottom = c.hi
		}
		if math.IsNaN(lo) {
			lo, hi = bottom, c.hi
		}
		lo, hi = min(lo, bottom), max(hi, c.hi)
	}
	return lo, hi
}
