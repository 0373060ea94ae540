// Package series holds readings in order of time, and which ECU they are taken from.
package series

import (
	"math"
	"time"

	"github.com/judder-obd/judder/pids"
)

// Reading is one value of one signal; T in seconds since the start of the drive.
type Reading struct{ T, V float64 }

// Track keeps the latest readings of one signal in order of time, contiguous in memory so
// that a window is a plain slice.
type Track struct {
	All  []Reading // oldest first; at most four times what is kept
	keep int
}

// NewTrack returns a track that never forgets the last keep readings.
func NewTrack(keep int) Track {
	return Track{All: make([]Reading, 0, 4*keep), keep: keep}
}

// Add appends a reading, moving the last keep of them to the front when the buffer is full.
func (k *Track) Add(r Reading) {
	if len(k.All) == cap(k.All) {
		n := copy(k.All, k.All[len(k.All)-k.keep:])
		k.All = k.All[:n]
	}
	k.All = append(k.All, r)
}

// Clear forgets everything.
func (k *Track) Clear() { k.All = k.All[:0] }

// Last returns the newest reading.
func (k *Track) Last() (Reading, bool) {
	if len(k.All) == 0 {
		return Reading{}, false
	}
	return k.All[len(k.All)-1], true
}

// Since returns the readings at or after t, oldest first. The slice is valid until add.
func (k *Track) Since(t float64) []Reading {
	i := len(k.All)
	for i > 0 && k.All[i-1].T >= t {
		i--
	}
	return k.All[i:]
}

// LastOf returns the last n readings at or after t.
func (k *Track) LastOf(n int, t float64) []Reading {
	w := k.All[max(0, len(k.All)-n):]
	for len(w) > 0 && w[0].T < t {
		w = w[1:]
	}
	return w
}

// Spread returns the range of the values at or after t, and the value that held at t (the
// Last one before it) with them, so that a slow signal's step is not lost.
func (k *Track) Spread(t float64) (low, high float64, ok bool) {
	return k.SpreadNear(t, math.Inf(1))
}

// SpreadNear is spread, but the value that held at t counts only when it was read at most old
// seconds before: after a gap of the link it is not known.
func (k *Track) SpreadNear(t, old float64) (low, high float64, ok bool) {
	w := k.Since(t)
	if i := len(k.All) - len(w); i > 0 && k.All[i-1].T >= t-old {
		w = k.All[i-1:]
	}
	if len(w) == 0 {
		return 0, 0, false
	}
	low, high = Range(w)
	return low, high, true
}

// Range returns the lowest and the highest value of some readings, of which there is one at least.
func Range(w []Reading) (low, high float64) {
	low, high = w[0].V, w[0].V
	for _, r := range w[1:] {
		low, high = min(low, r.V), max(high, r.V)
	}
	return low, high
}

// Source picks one ECU among several that give the same signal: the lowest id heard lately.
// Readings without a name, from an adapter that lost its settings, come last: they may be any
// ECU's.
type Source struct {
	id    string
	heard float64
	any   bool
}

// Accept reports whether a sample of this ECU is to be used, and whether it is another ECU than
// before.
func (s *Source) Accept(x pids.Sample, t, hold float64) (use, changed bool) {
	lower := x.ECU == s.id || x.ECU != "" && (s.id == "" || x.ECU < s.id)
	if s.any && !lower && t-s.heard <= hold {
		return false, false
	}
	changed = s.any && x.ECU != s.id
	s.id, s.heard, s.any = x.ECU, t, true
	return true, changed
}

// Duration turns seconds since the start of the drive into a Duration, rounded to a nanosecond.
func Duration(t float64) time.Duration {
	return time.Duration(math.Round(t * 1e9))
}
