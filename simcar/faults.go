package simcar

import (
	"math/rand/v2"
	"time"
)

// FaultKind is something that goes wrong.
type FaultKind uint8

// The kinds. Those marked "timed" also strike while the adapter is idle.
const (
	LostReply       FaultKind = iota + 1 // NO DATA instead of the reply
	LateReply                            // NO DATA and prompt; the reply comes For later, unasked
	DamagedReply                         // characters changed or dropped
	DataError                            // "<DATA ERROR" at the end of the line
	NulBytes                             // zero bytes strewn in
	AdapterReset                         // breaks off, version text, settings lost (timed)
	LowVoltage                           // LV RESET, settings lost (timed)
	ERR94                                // ERR94, settings lost, CAN search blocked until AT FE
	Silence                              // no prompt and no hearing for For (timed)
	LineDrop                             // the connection closes; For: TCP stays away so long (timed)
	StoppedByItself                      // STOPPED without cause
	BufferFull                           // BUFFER FULL in the middle of the reply
	CANError                             // CAN ERROR
	BusBusy                              // BUS BUSY
	BusInitError                         // BUS INIT: ...ERROR; the bus must be woken again
	Noise                                // escape sequences and binary before the reply (timed)
	EndlessLine                          // Count bytes (default 65536) without a line end
	IgnitionOff                          // the ECUs are silent for For
	StaleValues                          // the ECUs repeat their values for For
	CutReply                             // after Count consecutive frames no more come (long replies)
	LostFrame                            // consecutive frame Count does not come, 1 without Count (long replies)
	WrongLength                          // the first frame claims a length of Count, 7 too many without Count (long replies on CAN)
)

// long are the kinds that strike replies of more than one frame, the lines of the older
// buses among them. One without a Chance waits for the first such reply of any ECU.
var long = map[FaultKind]bool{CutReply: true, LostFrame: true, WrongLength: true}

// loses reports whether a fault of a long reply takes frame i away, of frames 0 to last.
func (f *Fault) loses(i, last int) bool {
	switch f.Kind {
	case CutReply:
		return i > min(max(f.Count, 0), last-1)
	case LostFrame:
		return i == min(max(f.Count, 1), last)
	default:
		return false
	}
}

// Fault says when something goes wrong. With Chance 0 it strikes once, at At or at the
// first exchange after it; with a Chance it strikes each exchange from At on (to Until,
// if that is set) with that probability.
type Fault struct {
	Kind      FaultKind
	At, Until time.Duration // drive time
	Chance    float64
	For       time.Duration
	Count     int
}

// Strike is a fault that did strike.
type Strike struct {
	At   time.Duration
	Kind FaultKind
}

// timed are the kinds that need no exchange to strike.
var timed = map[FaultKind]bool{AdapterReset: true, LowVoltage: true, Silence: true, LineDrop: true, Noise: true}

// lasting are the kinds that are a state of the car rather than an accident.
var lasting = map[FaultKind]bool{IgnitionOff: true, StaleValues: true}

// faultList keeps the faults still to come and those that were. The Sim's lock guards it.
type faultList struct {
	rows    []Fault
	strikes []Strike
	random  *rand.Rand
}

// next takes the fault that strikes now, if any; onlyTimed leaves out those that need an
// exchange.
func (l *faultList) next(now time.Duration, onlyTimed bool) (Fault, bool) {
	return l.take(now, func(f *Fault) bool {
		return !lasting[f.Kind] && !long[f.Kind] && (!onlyTimed || timed[f.Kind] && f.Chance == 0)
	})
}

// nextLong takes the fault that strikes a long reply now, if any.
func (l *faultList) nextLong(now time.Duration, can bool) (Fault, bool) {
	return l.take(now, func(f *Fault) bool { return long[f.Kind] && (can || f.Kind != WrongLength) })
}

// take takes the first fault due of those wanted.
func (l *faultList) take(now time.Duration, wanted func(*Fault) bool) (Fault, bool) {
	for i := range l.rows {
		f := l.rows[i]
		if now < f.At || !wanted(&f) {
			continue
		}
		if f.Chance > 0 {
			if (f.Until > 0 && now >= f.Until) || l.random.Float64() >= f.Chance {
				continue
			}
		} else {
			l.rows = append(l.rows[:i], l.rows[i+1:]...)
		}
		l.strikes = append(l.strikes, Strike{now, f.Kind})
		return f, true
	}
	return Fault{}, false
}

// nextTimed is when the next fault strikes an idle adapter.
func (l *faultList) nextTimed() (at time.Duration, ok bool) {
	for _, f := range l.rows {
		if timed[f.Kind] && f.Chance == 0 && (!ok || f.At < at) {
			at, ok = f.At, true
		}
	}
	return at, ok
}

// during reports whether a lasting fault is on, and since when.
func (l *faultList) during(kind FaultKind, now time.Duration) (since time.Duration, on bool) {
	for _, f := range l.rows {
		if f.Kind == kind && now >= f.At && now < f.At+f.For {
			return f.At, true
		}
	}
	return 0, false
}

// damage changes or drops one to three characters of a line.
func damage(r *rand.Rand, line []byte) []byte {
	for range 1 + r.IntN(3) {
		if len(line) == 0 {
			break
		}
		i := r.IntN(len(line))
		if r.IntN(2) == 0 {
			line = append(line[:i], line[i+1:]...)
		} else {
			line[i] ^= 1 << r.IntN(7)
		}
	}
	return line
}

// strewNuls puts zero bytes between characters.
func strewNuls(r *rand.Rand, line []byte) []byte {
	out := make([]byte, 0, 2*len(line))
	for _, b := range line {
		if r.IntN(4) == 0 {
			out = append(out, 0)
		}
		out = append(out, b)
	}
	return append(out, 0)
}

// noise is what a terminal must never be given raw: escape sequences, a title, a bell,
// an eight-bit control, broken UTF-8.
var noise = []byte("\x1b[2J\x1b]0;title\x07\x1bP1$r\x1b\\\x9b31m\xff\xfe\xc3\x28\x08\x7f")
