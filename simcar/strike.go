package simcar

import (
	"bytes"
	"errors"
	"time"
)

// defaultEndless is how long an EndlessLine is without a Count.
const defaultEndless = 1 << 16

// nextFault takes the fault that strikes now.
func (d *dialogue) nextFault(onlyTimed bool) (Fault, bool) {
	s := d.sim
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.faults.rows) == 0 {
		return Fault{}, false
	}
	return s.faults.next(s.now(), onlyTimed)
}

// nextTimed is when the next fault strikes an idle adapter.
func (d *dialogue) nextTimed() (time.Duration, bool) {
	d.sim.mu.Lock()
	defer d.sim.mu.Unlock()
	return d.sim.faults.nextTimed()
}

// statusTexts are the faults that put a text instead of the reply
// (ELM327 data sheet p.87 ff.).
var statusTexts = map[FaultKind]string{
	LostReply:       "NO DATA",
	StoppedByItself: "STOPPED",
	CANError:        "CAN ERROR",
	BusBusy:         "BUS BUSY",
	BusInitError:    "BUS INIT: ...ERROR",
}

// strikeIdle is a timed fault while nothing is asked.
func (d *dialogue) strikeIdle(f Fault) error {
	switch f.Kind {
	case LineDrop:
		return d.drop(f.For)
	case Silence:
		return d.deaf(f.For)
	case Noise:
		d.out = append(d.out, noise...)
		return d.flush()
	default:
		return d.loseSettings(f.Kind)
	}
}

// strikeBefore is a fault instead of an exchange, or what damages one;
// done says that the exchange is over, prompt and all.
func (d *dialogue) strikeBefore(f Fault) (done bool, err error) {
	if text, ok := statusTexts[f.Kind]; ok {
		if f.Kind == BusInitError {
			d.chip.open = false
		}
		d.busy = true
		err := d.pause(d.chip.wait())
		d.busy = false
		if err != nil && !errors.Is(err, errStopped) {
			return true, err
		}
		return true, d.finish(text)
	}
	switch f.Kind {
	case LineDrop:
		return true, d.drop(f.For)
	case Silence:
		return true, d.deaf(f.For)
	case Noise:
		d.out = append(d.out, noise...)
	case EndlessLine:
		return true, d.endless(f.Count)
	case ERR94:
		d.chip.blocked = true
		return true, d.loseSettings(f.Kind)
	case DamagedReply:
		d.mangle = func(line []byte) []byte { return damage(d.sim.random, line) }
	case NulBytes:
		d.mangle = func(line []byte) []byte { return strewNuls(d.sim.random, line) }
	case DataError:
		d.mangle = func(line []byte) []byte { return append(bytes.TrimRight(line, " "), " <DATA ERROR"...) }
	case BufferFull:
		d.choked = true
	case AdapterReset, LowVoltage: // half a line gets out, strikeAfter does the rest
		d.mangle = func(line []byte) []byte { return line[:len(line)/2] }
	case LateReply:
		d.mangle = d.keepLate(f.For)
	}
	return false, nil
}

// strikeAfter ends an exchange that strikeBefore began to damage.
func (d *dialogue) strikeAfter(f Fault) (done bool, err error) {
	switch f.Kind {
	case AdapterReset, LowVoltage:
		return true, d.loseSettings(f.Kind)
	case LateReply:
		return true, d.finish("NO DATA")
	default:
		return false, nil
	}
}

// loseSettings is a reset that nobody asked for.
func (d *dialogue) loseSettings(kind FaultKind) error {
	d.eol()
	switch kind {
	case LowVoltage:
		d.say("LV RESET")
	case ERR94:
		d.say("ERR94")
	}
	d.chip.resetFully()
	d.pending, d.typed = d.pending[:0], d.typed[:0]
	if kind == AdapterReset {
		if err := d.pause(resetTime); err != nil {
			return err
		}
		d.eol()
		return d.finish(d.sim.profile.Version)
	}
	return d.finish("")
}

// drop ends the connection; TCP stays away for a while.
func (d *dialogue) drop(away time.Duration) error {
	d.sim.mu.Lock()
	d.sim.away = d.sim.now() + away
	d.sim.mu.Unlock()
	return ErrDropped
}

// deaf says nothing and hears nothing for a while; not even the prompt comes.
func (d *dialogue) deaf(t time.Duration) error {
	if err := d.hold(t); err != nil {
		return err
	}
	d.pending, d.typed, d.out = d.pending[:0], d.typed[:0], d.out[:0]
	return nil
}

// endless sends n characters without a line end, then the prompt.
func (d *dialogue) endless(n int) error {
	if n <= 0 {
		n = defaultEndless
	}
	d.out = append(d.out, bytes.Repeat([]byte("41 0C 1A F8 "), n/12+1)[:n]...)
	return d.finish("")
}
