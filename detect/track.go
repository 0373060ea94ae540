package detect

import (
	"math"

	"judder/pids"
)

// reading is one value of one signal; t in seconds since the start of the drive.
type reading struct{ t, v float64 }

// track keeps the latest readings of one signal in order of time, contiguous in memory so
// that a window is a plain slice.
type track struct {
	buf  []reading
	keep int
}

// newTrack returns a track that never forgets the last keep readings.
func newTrack(keep int) track {
	return track{buf: make([]reading, 0, 4*keep), keep: keep}
}

// add appends a reading, moving the last keep of them to the front when the buffer is full.
func (k *track) add(r reading) {
	if len(k.buf) == cap(k.buf) {
		n := copy(k.buf, k.buf[len(k.buf)-k.keep:])
		k.buf = k.buf[:n]
	}
	k.buf = append(k.buf, r)
}

// clear forgets everything.
func (k *track) clear() { k.buf = k.buf[:0] }

// last returns the newest reading.
func (k *track) last() (reading, bool) {
	if len(k.buf) == 0 {
		return reading{}, false
	}
	return k.buf[len(k.buf)-1], true
}

// since returns the readings at or after t, oldest first. The slice is valid until add.
func (k *track) since(t float64) []reading {
	i := len(k.buf)
	for i > 0 && k.buf[i-1].t >= t {
		i--
	}
	return k.buf[i:]
}

// lastOf returns the last n readings at or after t.
func (k *track) lastOf(n int, t float64) []reading {
	w := k.buf[max(0, len(k.buf)-n):]
	for len(w) > 0 && w[0].t < t {
		w = w[1:]
	}
	return w
}

// spread returns the range of the values at or after t, and the value that held at t (the
// last one before it) with them, so that a slow signal's step is not lost.
func (k *track) spread(t float64) (low, high float64, ok bool) {
	return k.spreadNear(t, math.Inf(1))
}

// spreadNear is spread, but the value that held at t counts only when it was read at most old
// seconds before: after a gap of the link it is not known.
func (k *track) spreadNear(t, old float64) (low, high float64, ok bool) {
	w := k.since(t)
	if i := len(k.buf) - len(w); i > 0 && k.buf[i-1].t >= t-old {
		w = k.buf[i-1:]
	}
	if len(w) == 0 {
		return 0, 0, false
	}
	low, high = w[0].v, w[0].v
	for _, r := range w[1:] {
		low, high = min(low, r.v), max(high, r.v)
	}
	return low, high, true
}

// source picks one ECU among several that give the same signal: the lowest id heard lately.
// Readings without a name, from an adapter that lost its settings, come last: they may be any
// ECU's.
type source struct {
	id    string
	heard float64
	any   bool
}

// accept reports whether a sample of this ECU is to be used, and whether it is another ECU than
// before.
func (s *source) accept(x pids.Sample, t, hold float64) (use, changed bool) {
	lower := x.ECU == s.id || x.ECU != "" && (s.id == "" || x.ECU < s.id)
	if s.any && !lower && t-s.heard <= hold {
		return false, false
	}
	changed = s.any && x.ECU != s.id
	s.id, s.heard, s.any = x.ECU, t, true
	return true, changed
}
