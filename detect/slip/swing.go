package slip

import (
	"math"

	"github.com/judder-obd/judder/detect/series"
)

// line is a straight line through a window: v = mean + slope·(t − at).
type line struct{ at, mean, slope float64 }

// fitLine returns the least-squares line through w, which must not be empty. One reading,
// or readings of one time, give slope 0.
func fitLine(w []series.Reading) line {
	n := float64(len(w))
	t0 := w[0].T
	var st, sv float64
	for _, r := range w {
		st += r.T - t0
		sv += r.V
	}
	mt, mv := st/n, sv/n
	var stt, stv float64
	for _, r := range w {
		d := r.T - t0 - mt
		stt += d * d
		stv += d * (r.V - mv)
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
func detrend(dst, w []series.Reading, l line) []series.Reading {
	dst = dst[:len(w)]
	for i, r := range w {
		dst[i] = series.Reading{T: r.T, V: r.V - l.of(r.T)}
	}
	return dst
}

// halvings of kthSwing: the range is known to one part in 2⁸, finer than the readings.
const halvings = 8

// kthSwing returns the largest size for which w holds at least k swings: the k-th largest
// zig-zag swing. It is 0 when there are fewer than k turns. Windows are at most maxWindow
// long.
func kthSwing(w []series.Reading, k int) float64 {
	var turns [maxWindow]float64
	n := 0
	low, high := math.Inf(1), math.Inf(-1)
	for i, r := range w {
		low, high = min(low, r.V), max(high, r.V)
		if n >= 2 && (turns[n-1]-turns[n-2])*(r.V-turns[n-1]) >= 0 {
			n-- // goes on the same way: not a turn
		}
		if i == 0 || r.V != turns[n-1] {
			turns[n] = r.V
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
