package simcar

import (
	"io"
	"time"
)

// eol ends a line.
func (d *dialogue) eol() {
	switch {
	case d.sim.profile.LineEnd != "":
		d.out = append(d.out, d.sim.profile.LineEnd...)
	case d.chip.linefeeds:
		d.out = append(d.out, '\r', '\n')
	default:
		d.out = append(d.out, '\r')
	}
}

// say puts out a line.
func (d *dialogue) say(text string) {
	d.out = append(d.out, text...)
	d.eol()
}

// finish puts out a last line, unless it is empty, and the prompt.
func (d *dialogue) finish(text string) error {
	if text != "" {
		d.say(text)
	}
	if p := d.sim.profile.Prompt; p != "" {
		d.out = append(d.out, p...)
	} else {
		d.eol()
		d.out = append(d.out, '>')
	}
	return d.flush()
}

// characters is the time that n characters take on the line, start and stop bits included.
func (d *dialogue) characters(n int) time.Duration {
	return time.Duration(n) * 10 * time.Second / time.Duration(d.chip.baud)
}

// wrongSpeed says whether host and adapter are at different speeds.
func (d *dialogue) wrongSpeed() bool { return d.sim.hostBaud != nil && d.sim.hostBaud() != d.chip.baud }

// flush sends what was said, in the pieces and at the speed of this adapter.
func (d *dialogue) flush() error {
	out := d.out
	d.out = d.out[:0]
	if len(out) > 0 && d.wrongSpeed() {
		for i := range out {
			out[i] = byte(0x80 | d.intN(0x7F)) // never a CR or a prompt
		}
	}
	for len(out) > 0 {
		n := len(out)
		if c := d.sim.profile.Chunk; c > 0 {
			n = min(n, c)
		}
		if d.sim.paced {
			if err := d.pause(d.characters(n)); err != nil {
				return err
			}
		}
		d.sentAt = d.sim.Now()
		if _, err := d.conn.Write(out[:n]); err != nil {
			return err
		}
		if out = out[n:]; len(out) > 0 {
			if err := d.pause(d.sim.profile.ChunkGap); err != nil {
				return err
			}
		}
	}
	return nil
}

// pause waits, unless the Sim is Instant. While a request is on the bus a byte from the
// host ends the wait with errStopped and is lost.
func (d *dialogue) pause(t time.Duration) error {
	if d.busy && len(d.pending) > 0 {
		return d.stopped()
	}
	if t <= 0 || d.sim.instant {
		return nil
	}
	return d.hold(t)
}

func (d *dialogue) stopped() error {
	d.pending = d.pending[1:]
	return errStopped
}

// hold waits, Instant or not.
func (d *dialogue) hold(t time.Duration) error {
	d.timer.Reset(t)
	for {
		select {
		case <-d.timer.C:
			return nil
		case <-d.done:
			return io.EOF
		case b, ok := <-d.in:
			if !ok {
				return io.EOF
			}
			d.receive(b)
			if d.busy && len(d.pending) > 0 {
				return d.stopped()
			}
		}
	}
}

// await waits for input, at most t.
func (d *dialogue) await(t time.Duration) error {
	if len(d.pending) > 0 {
		return nil
	}
	d.timer.Reset(t)
	select {
	case <-d.timer.C:
		return nil
	case <-d.done:
		return io.EOF
	case b, ok := <-d.in:
		if !ok {
			return io.EOF
		}
		d.receive(b)
		return nil
	}
}

// intN is a random number of the Sim's.
func (d *dialogue) intN(n int) int {
	d.sim.mu.Lock()
	defer d.sim.mu.Unlock()
	return d.sim.random.IntN(n)
}
