// Package elm holds the dialogue with an ELM327-style adapter: one command out, lines in until the
// prompt. It alone writes to a link. Permit lets pass what only reads; Erase is the one way past
// it; a guard keeps a busy adapter from making another request of what it is sent.
package elm

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
)

// Link is a two-way byte stream with deadlines; obd/link has it over serial, TCP and an
// in-memory pipe.
type Link interface {
	io.ReadWriteCloser
	SetReadDeadline(t time.Time) error
	SetWriteDeadline(t time.Time) error
}

// Clock is the time of a session.
type Clock struct {
	Now  func() time.Duration // since its start, in whole microseconds
	Over func() bool          // reports whether it is ending: give up waiting
	Rest func(time.Duration)  // waits, or less when it ends
}

const (
	// readSlice is how long one read may block, so that the end of a session is noticed.
	readSlice = 50 * time.Millisecond
	// strayShare is the part of the wait that is left for our own prompt after one that ended
	// a reply to something else (a late reply to an earlier request).
	strayShare = 4
	strayUsual = 4 // the same, in usual exchanges
	// writeWithin is how long an adapter may take to accept a command of a few bytes; one out
	// of radio range never does.
	writeWithin = time.Second
	// promptLate is how long to wait for a prompt after a whole reply, at least: adapters wait
	// 200 ms for more unless set otherwise (ELM327 data sheet p. 27). In usual exchanges:
	// strayUsual.
	promptLate = 300 * time.Millisecond
	// No car's replies come faster: two CAN frames of some 125 bits at 500 kbit/s take half a
	// millisecond, and a full bus is about 80 kB of text a second. An adapter that floods is
	// slowed down to that, so that a recording of it does not fill the disk: 25 MB a second without.
	exchangeLeast = 500 * time.Microsecond
	byteLeast     = 5 * time.Microsecond
	pauseForFlood = time.Second // at most, so that nothing waits for ever
	// quiet is how long nothing must come before a dialogue out of step is taken up again.
	quiet = 40 * time.Millisecond
)

// Terminal is the dialogue over one link.
type Terminal struct {
	link    Link
	clock   Clock
	in      inbox
	guard   guard
	fixed   fixed
	chunk   [1024]byte
	scratch [40]byte
	stray   []obd.Line    // came while nothing was asked; put before the next exchange
	inStep  bool          // the last exchange ended as it should: request, reply, prompt
	strayed bool          // a prompt came in the last exchange that was not its own
	usual   time.Duration // smoothed length of exchanges with the car; 0 where not known
	got     int           // bytes read since the last request
	free    time.Duration // the next request goes out no sooner
}

// New begins a dialogue.
func New(link Link, clock Clock) *Terminal { return &Terminal{link: link, clock: clock} }

// Close closes the link.
func (t *Terminal) Close() error { return t.link.Close() }

// ErrOver is returned when the session ends, or is interrupted, while an exchange waits.
var ErrOver = errors.New("interrupted")

// Exchange sends one command and gathers what comes until the prompt, at most for wait.
// Lines that came since the previous exchange are put before: a late reply is not lost.
// The error is a link error or the gate's refusal; silence is an Ending, not an error.
func (t *Terminal) Exchange(command string, wait time.Duration) (obd.Exchange, error) {
	return t.converse(command, wait, func() error { return transmit(t.link, &t.guard, command, t.scratch[:]) })
}

func (t *Terminal) converse(command string, wait time.Duration, write func() error) (obd.Exchange, error) {
	x := obd.Exchange{Request: command}
	if !t.inStep {
		err := t.settle()
		x.Lines, t.stray = t.stray, nil
		if err != nil {
			return t.lost(x), err
		}
	}
	t.pace()
	if err := t.send(write); err != nil {
		return t.lost(x), err
	}
	x.Sent, t.in.echoed = t.clock.Now(), false
	err := t.gather(&x, wait)
	x.Done = t.clock.Now()
	t.guard.note(&x, t.strayed)
	t.fixed.note(&x, t.in.echoed)
	t.free = x.Sent + max(exchangeLeast, min(time.Duration(t.got)*byteLeast, pauseForFlood))
	t.got = 0
	if strings.HasPrefix(command, "ATST") || strings.HasPrefix(command, "ATAT") {
		t.usual = 0 // the adapter's own wait is another from now on
	}
	return x, err
}

// lost ends an exchange whose command did not go out.
func (t *Terminal) lost(x obd.Exchange) obd.Exchange {
	x.Sent = t.clock.Now()
	x.Done, x.Ending = x.Sent, obd.EndLost
	return x
}

// Doubt has the next exchange wait until nothing more comes: what is missing may be under way.
func (t *Terminal) Doubt() { t.inStep = false }

// pace waits until the next request may go out.
func (t *Terminal) pace() {
	if now := t.clock.Now(); now < t.free && t.clock.Rest != nil {
		t.clock.Rest(t.free - now)
	}
}

// send writes a command. One that the adapter does not take in time is a lost link.
func (t *Terminal) send(write func() error) error {
	if err := t.link.SetWriteDeadline(time.Now().Add(writeWithin)); err != nil {
		return err
	}
	err := write()
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return fmt.Errorf("the adapter takes no more commands: %w", err)
	}
	return err
}

func (t *Terminal) gather(x *obd.Exchange, wait time.Duration) error {
	limit := x.Sent + wait
	x.Ending, t.inStep, t.strayed = obd.EndSilence, false, false
	for {
		prompt, mine := t.in.scan(x)
		if prompt && mine {
			t.inStep = reply.Worst(x) < reply.ActAgain
			t.learn(x)
			return nil
		}
		now := t.clock.Now()
		if until, ok := t.unprompted(x, wait); ok {
			limit = min(limit, until)
		}
		if prompt {
			t.strayed = true
			limit = min(limit, now+t.strayWait(wait))
			if len(t.in.pending) > 0 {
				continue // what came after it has not been looked at
			}
		}
		if now >= limit {
			return nil
		}
		if t.clock.Over() {
			return ErrOver
		}
		if err := t.read(min(limit-now, readSlice)); err != nil {
			x.Ending = obd.EndLost
			return err
		}
	}
}

// unprompted is how long to wait for the prompt after a reply that is there as a whole; ok is
// false where another wait holds.
func (t *Terminal) unprompted(x *obd.Exchange, wait time.Duration) (until time.Duration, ok bool) {
	if t.usual == 0 || wait > WaitReplyBus || len(t.in.line) > 0 || !reply.LacksPrompt(x) {
		return 0, false
	}
	return x.Lines[len(x.Lines)-1].At + max(strayUsual*t.usual, promptLate), true
}

// learn smooths the length of exchanges with the car.
func (t *Terminal) learn(x *obd.Exchange) {
	if isOwn(x.Request) {
		return
	}
	took := t.clock.Now() - x.Sent
	if t.usual == 0 {
		t.usual = took
	}
	t.usual += (took - t.usual) / 8
}

// strayWait is how long to wait for our own prompt after one that ended something else: a
// few exchanges' time, or a part of the whole wait while that is not known or a search goes on.
func (t *Terminal) strayWait(wait time.Duration) time.Duration {
	most := wait / strayShare
	if t.usual == 0 || wait > WaitReplyBus {
		return most
	}
	return min(most, max(strayUsual*t.usual, quiet))
}

// read waits for bytes, at most for d. A deadline that passes is no error.
func (t *Terminal) read(d time.Duration) error {
	if err := t.link.SetReadDeadline(time.Now().Add(d)); err != nil {
		return err
	}
	n, err := t.link.Read(t.chunk[:])
	t.in.pending, t.in.at = t.chunk[:n], t.clock.Now()
	t.got += n
	if n > 0 || errors.Is(err, os.ErrDeadlineExceeded) {
		return nil
	}
	return err
}

// Listen waits for a line that comes unasked, at most for d. The next exchange takes it along.
func (t *Terminal) Listen(d time.Duration) error {
	var x obd.Exchange
	t.inStep, t.guard.quiet = false, false
	for end := t.clock.Now() + d; t.clock.Now() < end && !t.clock.Over() && len(x.Lines) == 0; {
		if err := t.read(min(end-t.clock.Now(), readSlice)); err != nil {
			t.keep(x.Lines)
			return err
		}
		for len(t.in.pending) > 0 {
			t.in.scan(&x)
		}
	}
	t.keep(x.Lines)
	return nil
}

// settle waits until nothing more comes, so that a reply still under way does not pass for
// the next one's. What comes is kept; prompts count for nothing.
func (t *Terminal) settle() error {
	var x obd.Exchange
	for end := t.clock.Now() + WaitSetting; t.clock.Now() < end && !t.clock.Over(); {
		for len(t.in.pending) > 0 {
			t.in.scan(&x)
		}
		before := t.clock.Now()
		if err := t.read(quiet); err != nil {
			t.keep(x.Lines)
			return err
		}
		if len(t.in.pending) == 0 && t.clock.Now()-before >= quiet {
			break
		}
	}
	t.in.endLine(&x)
	t.keep(x.Lines)
	return nil
}

// keep puts lines that came unasked before those of the next exchange.
func (t *Terminal) keep(lines []obd.Line) {
	t.stray = append(t.stray, lines[:min(len(lines), maxStrayLines-len(t.stray))]...)
}
