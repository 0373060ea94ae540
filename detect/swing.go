package detect

import "math"

// line is a straight line through a window: v = mean + slope·(t − at).
type line struct{ at, mean, slope float64 }

// fitLine returns the least-squares line through w, which must not be empty. One reading,
// or readings of one time, give slope 0.
func fitLine(w []reading) line {
	n := float64(len(w))
	t0 := w[0].t
	var st, sv float64
	for _, r := range w {
		st += r.t - t0
		sv += r.v
	}
	mt, mv := st/n, sv/n
	var stt, stv float64
	for _, r := range w {
		d := r.t - t0 - mt
		stt += d * d
		stv += d * (r.v - mv)
	}
	l := line{at: t0 + mt, mean: mv}
	if stt > 0 {
		l.slope = stv / stt
	}
	return l
}

// of returns the line's value at t.
func (l line) of(t float64) float64 { return l.mean + l.slope*(t-l.at) }

// detrend writes w less its line into dst and returns it; dst must be as long as w.
func detrend(dst, w []reading, l line) []reading {
	dst = dst[:len(w)]
	for i, r := range w {
		dst[i] = reading{r.t, r.v - l.of(r.t)}
	}
	return dst
}

// zigzag walks over w and counts the swings of at least size: moves from one extreme to the
// next that are not undone by a counter-move of that size before. first and last are the
// times at which the first such swing begins and the last one ends.
func zigzag(w []reading, size float64) (n int, first, last float64) {
	if len(w) == 0 {
		return 0, 0, 0
	}
	low, high := w[0], w[0]
	dir := 0
	for _, r := range w[1:] {
		switch {
		case dir == 0:
			if r.v < low.v {
				low = r
			}
			if r.v > high.v {
				high = r
			}
			if high.v-low.v < size {
				continue
			}
			n = 1
			if high.t > low.t {
				dir, first, last = 1, low.t, high.t
			} else {
				dir, first, last = -1, high.t, low.t
			}
		case dir > 0:
			if r.v > high.v {
				high, last = r, r.t
			} else if high.v-r.v >= size {
				n, dir, low, last = n+1, -1, r, r.t
			}
		default:
			if r.v < low.v {
				low, last = r, r.t
			} else if r.v-low.v >= size {
				n, dir, high, last = n+1, 1, r, r.t
			}
		}
	}
	return n, first, last
}

// halvings of kthSwing: the range is known to one part in 2⁸, finer than the readings.
const halvings = 8

// edges returns when the first swing of at least size begins and when the last one ends. At
// the edge of a burst the k-th largest is scatter, so a swing counts from edgeShare of the
// largest; and the first begins where engine speed leaves, not at the outermost reading of
// the quiet before.
func edges(w []reading, size float64) (first, last float64) {
	size = max(size, edgeShare*kthSwing(w, 1))
	_, first, last = zigzag(w, size)
	i := 0
	for i < len(w)-1 && w[i].t < first {
		i++
	}
	from := w[i].v
	for _, r := range w[i:] {
		switch d := math.Abs(r.v - from); {
		case d > leaveShare*size:
			return first, min(last, lastTurn(w, size, last)+slowestHalf)
		case d <= leaveShare*size/2:
			first = r.t
		}
	}
	return first, last
}

// lastTurn returns when the swing of at least size that ends at last began: its other
// extreme.
func lastTurn(w []reading, size, last float64) float64 {
	i := len(w) - 1
	for i > 0 && w[i].t > last {
		i--
	}
	end, low, high := w[i].v, w[i], w[i]
	for ; i >= 0; i-- {
		r := w[i]
		if r.v < low.v {
			low = r
		}
		if r.v > high.v {
			high = r
		}
		if high.v-end >= size && high.v-r.v > size/2 {
			return high.t
		}
		if end-low.v >= size && r.v-low.v > size/2 {
			return low.t
		}
	}
	if high.v-end > end-low.v {
		return high.t
	}
	return low.t
}

// edgeShare and leaveShare are shares of a swing; see edges (bench).
const (
	edgeShare  = 0.4
	leaveShare = 0.6
)

// slowestHalf is half a period of the slowest swing that is shudder, s: a last move that takes
// longer is engine speed settling after it (0.9 Hz, see fitLow).
const slowestHalf = 0.55

// kthSwing returns the largest size for which w holds at least k swings: the k-th largest
// zig-zag swing. It is 0 when there are fewer than k turns. Windows are at most maxWindow
// long.
func kthSwing(w []reading, k int) float64 {
	var turns [maxWindow]float64
	n := 0
	low, high := math.Inf(1), math.Inf(-1)
	for i, r := range w {
		low, high = min(low, r.v), max(high, r.v)
		if n >= 2 && (turns[n-1]-turns[n-2])*(r.v-turns[n-1]) >= 0 {
			n-- // goes on the same way: not a turn
		}
		if i == 0 || r.v != turns[n-1] {
			turns[n] = r.v
			n++
		}
	}
	if n <= k {
		return 0
	}
	lo, hi := 0.0, high-low
	x := turns[:n]
	for range halvings {
		mid := (lo + hi) / 2
		if atLeast(x, mid, k) {
			lo = mid
			x = swingsOf(x, mid) // smaller swings do not matter any more
		} else {
			hi = mid
		}
	}
	return lo
}

// swingsOf keeps of x, in place, the turns between swings of at least size, with the outermost
// values before the first swing and after the last: larger swings are counted alike in it.
func swingsOf(x []float64, size float64) []float64 {
	low, high := x[0], x[0]
	n, dir := 0, 0
	for _, v := range x[1:] {
		switch {
		case dir <= 0 && v-low >= size:
			x[n] = low
			n, dir, high = n+1, 1, v
		case dir >= 0 && high-v >= size:
			x[n] = high
			n, dir, low = n+1, -1, v
		default:
			low, high = min(low, v), max(high, v)
		}
	}
	if dir > 0 {
		x[n] = high
	} else {
		x[n] = low
	}
	return x[:n+1]
}

// atLeast reports whether x holds k swings of size, counted as zigzag counts them.
func atLeast(x []float64, size float64, k int) bool {
	low, high := x[0], x[0]
	n, dir := 0, 0
	for _, v := range x[1:] {
		if dir <= 0 {
			if v < low {
				low = v
			} else if v-low >= size {
				if n++; n >= k {
					return true
				}
				dir, high = 1, v
				continue
			}
		}
		if dir >= 0 {
			if v > high {
				high = v
			} else if high-v >= size {
				if n++; n >= k {
					return true
				}
				dir, low = -1, v
			}
		}
	}
	return false
}

// shown is the share of a wave's true peak-to-peak that the k-th swing shows, by readings
// in the window (computed by simulation of sines of 1–6 Hz sampled unevenly, in this
// project's bench; the last row holds for more).
var shown = []struct {
	n int
	g float64
}{{8, .36}, {9, .49}, {10, .55}, {12, .59}, {15, .75}, {20, .86}, {30, .93}, {45, .97}, {60, .98}}

// shownShare interpolates shown; it is 0 below the first row.
func shownShare(n int) float64 {
	if n < shown[0].n {
		return 0
	}
	for i := 1; i < len(shown); i++ {
		a, b := shown[i-1], shown[i]
		if n < b.n {
			return a.g + (b.g-a.g)*float64(n-a.n)/float64(b.n-a.n)
		}
	}
	return shown[len(shown)-1].g
}
