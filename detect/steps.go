package detect

import "github.com/judder-obd/judder/detect/series"

// stepWatch follows ln(engine speed ÷ road speed) through slow, repeated changes: a clutch
// that is switched off and on, or a gearbox that cannot make up its mind. It is a zig-zag
// with hysteresis, so that the steps of whole km/h do not count.
type stepWatch struct {
	low, high series.Reading
	dir       int
	turns     [turnsKept]turn
	n         int
}

// turn is one change of the ratio: when it was seen, and by how much in ln.
type turn struct{ t, size float64 }

const turnsKept = 8

// add takes the ratio at t; size is the least change that counts. It reports whether a
// change to the other side was just seen.
func (s *stepWatch) add(t, x, size float64) bool {
	now := series.Reading{T: t, V: x}
	if s.dir == 0 && s.n == 0 && s.low.T == 0 {
		s.low, s.high = now, now
	}
	switch {
	case s.dir >= 0 && s.high.V-x >= size:
		s.turn(t, s.high.V-x)
		s.dir, s.low = -1, now
		return true
	case s.dir <= 0 && x-s.low.V >= size:
		s.turn(t, x-s.low.V)
		s.dir, s.high = 1, now
		return true
	}
	if x > s.high.V {
		s.high = now
	}
	if x < s.low.V {
		s.low = now
	}
	switch last := &s.turns[0]; { // the last change is as large as it became
	case s.dir > 0:
		last.size = max(last.size, x-s.low.V)
	case s.dir < 0:
		last.size = max(last.size, s.high.V-x)
	}
	return false
}

func (s *stepWatch) turn(t, size float64) {
	copy(s.turns[1:], s.turns[:turnsKept-1])
	s.turns[0] = turn{t, size}
	s.n = min(s.n+1, turnsKept)
}

// reset forgets: the car stopped, braked, or the link was lost.
func (s *stepWatch) reset() { *s = stepWatch{} }

// repeated returns where repeated changes began and how large they usually are; ok when at
// least need of them follow each other within gap seconds, but not faster than least.
func (s *stepWatch) repeated(need int, least, gap float64) (from, size float64, ok bool) {
	if s.n < need {
		return 0, 0, false
	}
	sum := 0.0
	for i := range need {
		sum += s.turns[i].size
		if i > 0 && s.turns[i-1].t-s.turns[i].t > gap {
			return 0, 0, false
		}
	}
	from = s.turns[need-1].t
	if (s.turns[0].t-from)/float64(need-1) < least {
		return 0, 0, false
	}
	return from, sum / float64(need), true
}
