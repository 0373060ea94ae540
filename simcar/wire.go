package simcar

import (
	"errors"
	"io"
	"time"
)

// errStopped ends an exchange because the host sent a byte too early.
var errStopped = errors.New("simcar: stopped by the host")

// wire is the line to the host: bytes in, bytes out, and the waiting between.
type wire struct {
	sim  *Sim
	chip *chip
	conn io.ReadWriteCloser
	done <-chan struct{}
	in   <-chan []byte

	pending []byte        // received, not yet looked at
	out     []byte        // said, not yet sent
	sentAt  time.Duration // when the last piece went out; the host may take it later
	busy    bool          // a request is on the bus: a byte stops it
	timer   *time.Timer
}

// receive takes in a chunk; at a wrong speed nothing of it can be understood.
func (w *wire) receive(b []byte) {
	if w.wrongSpeed() {
		w.out = append(w.out, make([]byte, (len(b)+1)/2)...) // made junk when sent
		return
	}
	w.pending = append(w.pending, b...)
}

// eol ends a line.
func (w *wire) eol() {
	switch {
	case w.sim.profile.LineEnd != "":
		w.out = append(w.out, w.sim.profile.LineEnd...)
	case w.chip.linefeeds:
		w.out = append(w.out, '\r', '\n')
	default:
		w.out = append(w.out, '\r')
	}
}

// say puts out a line.
func (w *wire) say(text string) {
	w.out = append(w.out, text...)
	w.eol()
}

// finish puts out a last line, unless it is empty, and the prompt.
func (w *wire) finish(text string) error {
	if text != "" {
		w.say(text)
	}
	if p := w.sim.profile.Prompt; p != "" {
		w.out = append(w.out, p...)
	} else {
		w.eol()
		w.out = append(w.out, '>')
	}
	return w.flush()
}

// characters is the time that n characters take on the line, start and stop bits included.
func (w *wire) characters(n int) time.Duration {
	return time.Duration(n) * 10 * time.Second / time.Duration(w.chip.baud)
}

// wrongSpeed reports whether host and adapter are at different speeds.
func (w *wire) wrongSpeed() bool { return w.sim.hostBaud != nil && w.sim.hostBaud() != w.chip.baud }

// flush sends what was said, in the pieces and at the speed of this adapter.
func (w *wire) flush() error {
	out := w.out
	w.out = w.out[:0]
	if len(out) > 0 && w.wrongSpeed() {
		for i := range out {
			out[i] = byte(0x80 | w.intN(0x7F)) // never a CR or a prompt
		}
	}
	for len(out) > 0 {
		n := len(out)
		if c := w.sim.profile.Chunk; c > 0 {
			n = min(n, c)
		}
		if w.sim.paced {
			if err := w.pause(w.characters(n)); err != nil {
				return err
			}
		}
		w.sentAt = w.sim.Now()
		if _, err := w.conn.Write(out[:n]); err != nil {
			return err
		}
		if out = out[n:]; len(out) > 0 {
			if err := w.pause(w.sim.profile.ChunkGap); err != nil {
				return err
			}
		}
	}
	return nil
}

// pause waits, unless the Sim is Instant. While a request is on the bus a byte from the
// host ends the wait with errStopped and is lost.
func (w *wire) pause(t time.Duration) error {
	if w.busy && len(w.pending) > 0 {
		return w.stopped()
	}
	if t <= 0 || w.sim.instant {
		return nil
	}
	return w.hold(t)
}

func (w *wire) stopped() error {
	w.pending = w.pending[1:]
	return errStopped
}

// hold waits, Instant or not.
func (w *wire) hold(t time.Duration) error {
	w.timer.Reset(t)
	for {
		select {
		case <-w.timer.C:
			return nil
		case <-w.done:
			return io.EOF
		case b, ok := <-w.in:
			if !ok {
				return io.EOF
			}
			w.receive(b)
			if w.busy && len(w.pending) > 0 {
				return w.stopped()
			}
		}
	}
}

// await waits for input, at most t.
func (w *wire) await(t time.Duration) error {
	if len(w.pending) > 0 {
		return nil
	}
	w.timer.Reset(t)
	select {
	case <-w.timer.C:
		return nil
	case <-w.done:
		return io.EOF
	case b, ok := <-w.in:
		if !ok {
			return io.EOF
		}
		w.receive(b)
		return nil
	}
}

// intN is a random number of the Sim's.
func (w *wire) intN(n int) int {
	w.sim.mu.Lock()
	defer w.sim.mu.Unlock()
	return w.sim.random.IntN(n)
}

// hex puts bytes, each followed by a space if spaces are on.
func (w *wire) hex(bytes ...byte) {
	for _, b := range bytes {
		w.out = append(w.out, hexDigits[b>>4], hexDigits[b&0xF])
		w.space()
	}
}

func (w *wire) space() {
	if w.chip.spaces || w.sim.profile.SpacesStuck {
		w.out = append(w.out, ' ')
	}
}
