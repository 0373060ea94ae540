package drive

import (
	"errors"
	"fmt"
	"io"
	"judder/obd"
	"judder/obd/reply"
	"os"
	"slices"
	"strings"
	"time"
)

// Link is a two-way byte stream with deadlines; obd/link has it over serial, TCP and an
// in-memory pipe.
type Link interface {
	io.ReadWriteCloser
	SetReadDeadline(t time.Time) error
	SetWriteDeadline(t time.Time) error
}

// What is kept of one reply at most. An adapter's longest honest reply is a few kilobytes;
// more comes only from a faulty or hostile one and is counted, not stored.
const (
	maxLineBytes  = 2048
	maxReplyLines = 1024
	maxStrayLines = maxReplyLines / 2 // of what came unasked, so that a reply still has room
)

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
	// promptLate is how long to wait for a prompt behind a whole reply, at least: adapters wait
	// 200 ms for more unless told otherwise (ELM327 data sheet p. 27). In usual exchanges:
	// strayUsual.
	promptLate = 300 * time.Millisecond
	// No car's replies come faster: two CAN frames of some 125 bits at 500 kbit/s take half a
	// millisecond, and a full bus is about 80 kB of text a second. An adapter that floods is
	// slowed down to that, so that a recording of it does not fill the disk.
	exchangeLeast = 500 * time.Microsecond
	byteLeast     = 5 * time.Microsecond
	pauseForFlood = time.Second // at most, so that nothing waits for ever
	// quiet is how long nothing must come before a dialogue out of step is taken up again.
	quiet = 40 * time.Millisecond
)

// terminal holds the dialogue with the adapter: one command out, lines in until the prompt.
// Only the prompt ends a reply; line ends are taken as they come.
type terminal struct {
	link    Link
	now     func() time.Duration // since the start of the session, whole microseconds
	over    func() bool          // the session is ending: give up waiting
	rest    func(time.Duration)  // waits, or less when the session ends; nil: never
	chunk   [1024]byte
	pending []byte // read but not looked at yet
	pendAt  time.Duration
	line    []byte // the line being read
	spilt   bool   // the line was longer than maxLineBytes
	scratch [32]byte
	stray   []obd.Line    // came while nothing was asked; put before the next exchange
	inStep  bool          // the last exchange ended as it should: request, reply, prompt
	erasing bool          // Inquiry.Clear is sending its request
	usual   time.Duration // smoothed length of exchanges with the car; 0 where none tells
	lead    string        // stands before each command: leadIn where that is proved, else nothing
	unknown int           // requests to the car in a row that it did not know
	busy    bool          // the adapter may still be busy with a request to the car
	puzzled int           // times in a row that it did not know a command of its own
	got     int           // bytes read since the last request
	free    time.Duration // the next request goes out no sooner
}

// ErrOver is returned when the session ends, or is interrupted, while an exchange waits.
var ErrOver = errors.New("interrupted")

// exchange sends one command and gathers what comes until the prompt, at most for wait.
// Lines that came since the previous exchange are put before: a late reply is not lost.
// The error is a link error or the gate's refusal; silence is an Ending, not an error.
func (t *terminal) exchange(command string, wait time.Duration) (obd.Exchange, error) {
	x := obd.Exchange{Request: command}
	if !t.inStep {
		if err := t.settle(); err != nil {
			x.Lines, t.stray = t.stray, nil
			x.Sent = t.now()
			x.Done, x.Ending = x.Sent, obd.EndLost
			return x, err
		}
		x.Lines, t.stray = t.stray, nil
	}
	t.pace()
	if err := t.send(command); err != nil {
		x.Sent = t.now()
		x.Done, x.Ending = x.Sent, obd.EndLost
		return x, err
	}
	x.Sent = t.now()
	err := t.gather(&x, wait)
	x.Done = t.now()
	t.noteBusy(&x)
	t.free = x.Sent + max(exchangeLeast, min(time.Duration(t.got)*byteLeast, pauseForFlood))
	t.got = 0
	if strings.HasPrefix(command, "ATST") || strings.HasPrefix(command, "ATAT") {
		t.usual = 0 // the adapter's own wait is another from now on
	}
	return x, err
}

// noteBusy keeps whether the adapter may be busy with the car: a request ended without a prompt,
// or was taken for "stop". Only an answer to a command of its own shows that it is free; "?" is
// what it says to the rest of one, unless it says so again and again.
func (t *terminal) noteBusy(x *obd.Exchange) {
	const surely = 2
	own, w := strings.HasPrefix(x.Request, "AT"), reply.Worst(x)
	switch {
	case !own:
		t.busy, t.puzzled = x.Ending == obd.EndSilence || reply.Says(x, "STOPPED") || w == reply.ActRefused, 0
	case x.Ending != obd.EndPrompt || w == reply.ActAgain || w == reply.ActReopen:
		t.puzzled = 0
	case w == reply.ActRefused:
		t.puzzled++
		t.busy = t.busy && t.puzzled < surely
	default: // its answer, or its name
		t.busy, t.puzzled = false, 0
	}
}

// pace waits until the next request may go out.
func (t *terminal) pace() {
	if now := t.now(); now < t.free && t.rest != nil {
		t.rest(t.free - now)
	}
}

// send writes a command. One that the adapter does not take in time is a lost link.
func (t *terminal) send(command string) error {
	if err := t.link.SetWriteDeadline(time.Now().Add(writeWithin)); err != nil {
		return err
	}
	var err error
	if t.erasing {
		t.erasing = false // once, whatever follows
		err = erase(t.link, t.lead, command)
	} else {
		err = transmit(t.link, t.lead, command, t.scratch[:])
	}
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return because(obd.CauseStuck, fmt.Errorf("the adapter takes no more commands: %w", err))
	}
	return err
}

func (t *terminal) gather(x *obd.Exchange, wait time.Duration) error {
	limit := x.Sent + wait
	x.Ending, t.inStep = obd.EndSilence, false
	for {
		prompt, mine := t.scan(x)
		if prompt && mine {
			t.inStep = reply.Worst(x) < reply.ActAgain
			t.learn(x)
			return nil
		}
		now := t.now()
		if until, ok := t.unprompted(x, wait); ok {
			limit = min(limit, until)
		}
		if prompt {
			limit = min(limit, now+t.strayWait(wait))
			if len(t.pending) > 0 {
				continue // what came behind it has not been looked at
			}
		}
		if now >= limit {
			return nil
		}
		if t.over() {
			return ErrOver
		}
		if err := t.read(min(limit-now, readSlice)); err != nil {
			x.Ending = obd.EndLost
			return err
		}
	}
}

// unprompted is how long to wait for the prompt behind a reply to a request of a drive that
// is there as a whole; ok is false where another wait holds.
func (t *terminal) unprompted(x *obd.Exchange, wait time.Duration) (until time.Duration, ok bool) {
	n := len(x.Lines)
	if t.usual == 0 || wait > waitReplyBus || n == 0 || len(t.line) > 0 || !reply.OfDrive(x.Request) {
		return 0, false
	}
	a := reply.ParseQuestion(x.Request)
	waits := func(l obd.Line) bool { return reply.MayRefuse(x.Request, l.Text) && !a.NamedIn(l.Text) } // and the adapter with it
	if x.Lines[n-1].At < x.Sent || slices.ContainsFunc(x.Lines, waits) || !reply.Answers(x) {
		return 0, false
	}
	return x.Lines[n-1].At + max(strayUsual*t.usual, promptLate), true
}

// learn smooths the length of exchanges with the car.
func (t *terminal) learn(x *obd.Exchange) {
	if strings.HasPrefix(x.Request, "AT") {
		return
	}
	took := t.now() - x.Sent
	if t.usual == 0 {
		t.usual = took
	}
	t.usual += (took - t.usual) / 8
}

// strayWait is how long to wait for our own prompt after one that ended something else: a
// few exchanges' time, or a part of the whole wait while that is not known or a search goes on.
func (t *terminal) strayWait(wait time.Duration) time.Duration {
	most := wait / strayShare
	if t.usual == 0 || wait > waitReplyBus {
		return most
	}
	return min(most, max(strayUsual*t.usual, quiet))
}

// read waits for bytes, at most for d. A deadline that passes is no error.
func (t *terminal) read(d time.Duration) error {
	if err := t.link.SetReadDeadline(time.Now().Add(d)); err != nil {
		return err
	}
	n, err := t.link.Read(t.chunk[:])
	t.pending, t.pendAt = t.chunk[:n], t.now()
	t.got += n
	if n > 0 || errors.Is(err, os.ErrDeadlineExceeded) {
		return nil
	}
	return err
}

// scan looks at the pending bytes up to a prompt before which something came since the
// command; a prompt with nothing before it (a doubled one, one left over) ends nothing. mine
// tells whether what came can be the answer to this command.
func (t *terminal) scan(x *obd.Exchange) (prompt, mine bool) {
	for i, c := range t.pending {
		switch c {
		case '\r', '\n':
			t.endLine(x)
		case 0: // the data sheet's family is known to let zero bytes slip in
		case '>':
			t.endLine(x)
			if n := len(x.Lines); n > 0 && x.Lines[n-1].At >= x.Sent {
				t.pending = t.pending[i+1:]
				x.Ending = obd.EndPrompt
				return true, reply.MayAnswer(x)
			}
		default:
			if len(t.line) < maxLineBytes {
				t.line = append(t.line, c)
			} else {
				t.spilt = true
			}
		}
	}
	t.pending = nil
	return false, false
}

func (t *terminal) endLine(x *obd.Exchange) {
	if len(t.line) == 0 || len(x.Lines) >= maxReplyLines {
		t.line, t.spilt = t.line[:0], false
		return
	}
	text := string(t.line)
	if t.spilt {
		text += "<DATA ERROR" // an endless line is a damaged one
	}
	t.line, t.spilt = t.line[:0], false
	if n := len(x.Lines); strings.TrimSpace(text) == x.Request && (n == 0 || x.Lines[n-1].At < x.Sent) { // the echo
		return
	}
	x.Lines = append(x.Lines, obd.Line{At: t.pendAt, Text: text})
}

// listen waits for a line that comes unasked, at most for d.
func (t *terminal) listen(d time.Duration) error {
	var x obd.Exchange
	for end := t.now() + d; t.now() < end && !t.over() && len(x.Lines) == 0; {
		if err := t.read(min(end-t.now(), readSlice)); err != nil {
			t.keep(x.Lines)
			t.inStep = false
			return err
		}
		for len(t.pending) > 0 {
			t.scan(&x)
		}
	}
	t.keep(x.Lines)
	t.inStep = false // so that the next exchange takes it along
	return nil
}

// settle waits until nothing more comes, so that a reply still under way does not pass for
// the next one's. What comes is kept; prompts count for nothing.
func (t *terminal) settle() error {
	var x obd.Exchange
	for end := t.now() + waitSetting; t.now() < end && !t.over(); {
		for len(t.pending) > 0 {
			t.scan(&x)
		}
		before := t.now()
		if err := t.read(quiet); err != nil {
			t.keep(x.Lines)
			return err
		}
		if len(t.pending) == 0 && t.now()-before >= quiet {
			break
		}
	}
	t.endLine(&x)
	t.keep(x.Lines)
	return nil
}

// keep puts lines that came unasked before those of the next exchange.
func (t *terminal) keep(lines []obd.Line) {
	t.stray = append(t.stray, lines[:min(len(lines), maxStrayLines-len(t.stray))]...)
}
