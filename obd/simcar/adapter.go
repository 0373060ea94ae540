package simcar

import (
	"context"
	"errors"
	"io"
	"math"
	"time"
)

// ErrDropped is returned by Serve when a LineDrop fault closed the connection.
var ErrDropped = errors.New("simcar: line dropped by a fault; connect again")

// errStopped ends an exchange because the host sent a byte too early.
var errStopped = errors.New("simcar: stopped by the host")

// Limits of what is typed (ELM327 data sheet p.70 for the buffer; the 20 s from memory).
const (
	typedLimit  = 512
	typedExpiry = 20 * time.Second
)

// dialogue is one connection: bytes in, bytes out, and the waiting between.
type dialogue struct {
	sim  *Sim
	chip *chip
	conn io.ReadWriteCloser
	done <-chan struct{}
	in   <-chan []byte

	pending   []byte    // received, not yet looked at
	typed     []byte    // of the command that has no CR yet
	typedFrom time.Time // when its first byte came
	out       []byte    // said, not yet sent
	busy      bool      // a request is on the bus: a byte stops it
	timer     *time.Timer
	late      []lateLine

	mangle func([]byte) []byte // what a fault does to each line of this exchange
	choked bool                // a fault fills the buffer in this exchange
	room   int                 // characters left before BUFFER FULL; negative: no limit

	exchange exchange // kept for its memory
}

// lateLine is a line that comes after its prompt.
type lateLine struct {
	at   time.Duration
	text []byte
}

// Serve speaks with the host on conn until either side closes it, ctx ends or a LineDrop
// fault strikes; it closes conn. One connection is served at a time, others wait. The
// error is nil when the host closed, ctx's own when ctx ended, ErrDropped, or that of
// writing to conn.
func (s *Sim) Serve(ctx context.Context, conn io.ReadWriteCloser) error {
	select {
	case <-s.serving:
	case <-ctx.Done():
		return errors.Join(ctx.Err(), conn.Close())
	}
	defer func() { s.serving <- struct{}{} }()
	s.begin()

	ctx, cancel := context.WithCancel(ctx)
	closed := make(chan struct{})
	go func() { // the only way to end a Read or Write that blocks
		<-ctx.Done()
		_ = conn.Close() // the far end may have been first
		close(closed)
	}()
	in := make(chan []byte, 64)
	go pump(ctx.Done(), conn, in)

	d := &dialogue{sim: s, chip: s.chip, conn: conn, done: ctx.Done(), in: in, timer: time.NewTimer(time.Hour)}
	defer d.timer.Stop()
	err := d.run()
	parent := ctx.Err()
	cancel()
	<-closed
	switch {
	case parent != nil:
		return parent
	case errors.Is(err, io.EOF) || errors.Is(err, io.ErrClosedPipe):
		return nil
	default:
		return err
	}
}

// begin starts drive time once.
func (s *Sim) begin() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.started {
		s.started, s.start = true, time.Now()
	}
}

// pump moves what the host sends into the channel, so that the dialogue can notice a
// byte while it waits for something else.
func pump(done <-chan struct{}, conn io.Reader, in chan<- []byte) {
	defer close(in)
	buf := make([]byte, 512)
	for {
		n, err := conn.Read(buf)
		if n > 0 {
			select {
			case in <- append([]byte(nil), buf[:n]...):
			case <-done:
				return
			}
		}
		if err != nil {
			return
		}
	}
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
	if len(d.late) > 0 && d.late[0].at <= d.sim.Now() {
		d.out = append(d.out, d.late[0].text...)
		d.late = d.late[1:]
		return d.flush()
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

// receive takes in a chunk; at a wrong speed nothing of it can be understood.
func (d *dialogue) receive(b []byte) {
	if d.wrongSpeed() {
		d.out = append(d.out, make([]byte, (len(b)+1)/2)...) // made junk when sent
		return
	}
	d.pending = append(d.pending, b...)
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

// chance is a random duration below limit.
func (s *Sim) chance(limit time.Duration) time.Duration { // s.mu is held
	if limit <= 0 {
		return 0
	}
	return time.Duration(s.random.Int64N(int64(limit)))
}
