package simcar

import (
	"io"
	"math"
	"time"
)

// Limits of what is typed (ELM327 data sheet p.70 for the buffer; the 20 s from memory).
const (
	typedLimit  = 512
	typedExpiry = 20 * time.Second
)

// dialogue is one connection: it takes commands, runs them and answers on its wire.
type dialogue struct {
	wire

	typed     []byte    // of the command that has no CR yet
	typedFrom time.Time // when its first byte came
	late      []lateLine

	mangle func([]byte) []byte // what a fault does to each line of this exchange
	choked bool                // a fault fills the buffer in this exchange
	room   int                 // characters left before BUFFER FULL; negative: no limit

	exchange exchange // kept for its memory
	broken   error    // a command ended the connection
}

// run takes commands until the connection ends.
func (d *dialogue) run() error {
	for {
		if len(d.pending) == 0 {
			if err := d.idle(); err != nil {
				return err
			}
			continue
		}
		if err := d.take(); err != nil {
			return err
		}
	}
}

// idle waits for input, and does what is due meanwhile.
func (d *dialogue) idle() error {
	if f, ok := d.nextFault(true); ok {
		return d.strikeIdle(f)
	}
	if wait, ok := d.untilDue(); ok {
		d.timer.Reset(wait)
	} else {
		d.timer.Stop()
	}
	select {
	case b, ok := <-d.in:
		if !ok {
			return io.EOF
		}
		d.receive(b)
		return nil
	case <-d.sim.wake:
		return nil
	case <-d.done:
		return io.EOF
	case <-d.timer.C:
	}
	if d.lateIsDue(d.sim.Now()) {
		return d.sendLate()
	}
	if len(d.typed) > 0 && time.Since(d.typedFrom) >= typedExpiry {
		d.typed = d.typed[:0]
		return d.finish("?")
	}
	return nil
}

// untilDue is how long an idle adapter may wait for input at most; ok is false when
// nothing is due.
func (d *dialogue) untilDue() (wait time.Duration, ok bool) {
	const never = time.Duration(math.MaxInt64)
	wait = never
	if len(d.typed) > 0 {
		wait = time.Until(d.typedFrom.Add(typedExpiry))
	}
	now := d.sim.Now()
	if len(d.late) > 0 {
		wait = min(wait, d.late[0].at-now)
	}
	if at, ok := d.nextTimed(); ok {
		wait = min(wait, at-now)
	}
	return wait, wait < never
}

// take moves pending bytes to the typed command and runs it at a CR.
func (d *dialogue) take() error {
	if d.chip.asleep { // any byte wakes it and is lost
		d.chip.asleep = false
		d.pending = d.pending[1:]
		return d.finish("")
	}
	for i, b := range d.pending {
		if d.echoing() {
			d.out = append(d.out, b)
		}
		if b == '\r' {
			d.pending = d.pending[i+1:]
			if d.echoing() && d.chip.linefeeds {
				d.out = append(d.out, '\n')
			}
			return d.command()
		}
		if len(d.typed) == 0 {
			d.typedFrom = time.Now()
		}
		if b > ' ' && len(d.typed) <= typedLimit { // spaces, control characters, zeros are ignored
			d.typed = append(d.typed, b)
		}
	}
	d.pending = d.pending[:0]
	return d.flush()
}

func (d *dialogue) echoing() bool { return d.chip.echo || d.sim.profile.EchoStuck }

// command runs what was typed.
func (d *dialogue) command() error {
	if d.sim.paced && len(d.typed) > 0 { // a real line would have taken so long to bring it
		if err := d.pause(d.characters(len(d.typed)+1) - time.Since(d.typedFrom)); err != nil {
			return err
		}
	}
	text := upper(d.typed)
	d.typed = d.typed[:0]
	d.sim.noteRequest(text)
	if text == "" { // a bare CR repeats
		text = d.chip.last
	}
	d.chip.last = text
	if err := d.pause(d.sim.profile.Latency); err != nil {
		return err
	}
	switch {
	case text == "":
		return d.finish("")
	case len(text) > typedLimit:
		return d.finish("?")
	case len(text) >= 2 && text[:2] == "AT":
		return d.internal(text[2:])
	default:
		return d.request(text)
	}
}

func upper(b []byte) string {
	for i, c := range b {
		if c >= 'a' && c <= 'z' {
			b[i] = c - 'a' + 'A'
		}
	}
	return string(b)
}
