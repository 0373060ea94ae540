package session

import (
	"context"
	"errors"
	"sync"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/drive"
	"github.com/judder-obd/judder/obd/redact"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/session/complaint"
	"github.com/judder-obd/judder/session/recording"
)

// Live is a session on a car. The poller's goroutine pumps: every entry is written first,
// then analysed and put on the board. A screen pulls Snapshot and may call the other
// methods at any time.
type Live struct {
	poller *drive.Drive
	since  func() time.Duration
	source string
	path   string

	mu       sync.Mutex
	journal  journal
	analysis *Analysis
	board    board
	phase    Phase
	answered int // requests to the car that brought a reading
	end      context.CancelFunc
	finished bool
	check    CheckState
	mask     redact.Mask
}

// NewLive makes a live session. since gives the time since its start; path is where rec
// writes, for the screen.
func NewLive(poller *drive.Drive, since func() time.Duration, source string, rec Recorder, path string) *Live {
	return &Live{poller: poller, since: since, source: source, path: path, journal: journal{rec: rec}, analysis: NewAnalysis(poller.Profile())}
}

// Describe gives what the first line of the recording has of this session, for its result.
func (l *Live) Describe(h recording.Header) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.analysis.header = h
}

// SetComplaint sets what the customer complains of, or changes it; the last counts for the whole drive.
// It goes into the recording.
func (l *Live) SetComplaint(box complaint.Box) {
	at := l.since()
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.finished || l.analysis.passes.box == box {
		return
	}
	l.analysis.passes.setBox(box)
	l.journal.about(recording.About{At: at, Extra: map[string]string{complaintKey: box.String()}})
}

// EndedBy is the cause of a context whose end ends a session: why the recording ends, in words.
type EndedBy string

func (e EndedBy) Error() string { return string(e) }

// Run pumps until the context ends, End is called, or the port proves useless (the error).
// The recording is closed with why it ended.
func (l *Live) Run(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	l.mu.Lock()
	l.end = cancel
	l.mu.Unlock()
	err := l.poller.Run(ctx, (*liveSink)(l))
	why := recording.WhyUser
	var from EndedBy
	switch {
	case err != nil:
		why = recording.WhyLinkLost
	case errors.Is(context.Cause(ctx), context.DeadlineExceeded):
		why = recording.WhyTime
	case errors.As(context.Cause(ctx), &from):
		why = string(from)
	}
	l.finish(why)
	return err
}

func (l *Live) finish(why string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.analysis.Finish()
	l.phase, l.finished = Finished, true
	l.journal.close(why)
}

// End ends the session; Run returns soon after.
func (l *Live) End() {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.end != nil {
		l.end()
	}
}

// Outcome is what became of the requests of a live session and of its recording.
type Outcome struct {
	Answered int    // requests that brought readings
	Heard    bool   // the car said something, even if no reading
	LastText string // the latest recorded text that explains how the link is
	Recorded int    // requests that were recorded
	Stop     RecordingStop
}

// Outcome is what became of the requests so far, and of the recording.
func (l *Live) Outcome() Outcome {
	l.mu.Lock()
	defer l.mu.Unlock()
	o := Outcome{Answered: l.answered, Heard: l.analysis.heard, LastText: l.board.said, Recorded: l.journal.requests}
	o.Stop, _ = l.journal.became()
	return o
}

// Result is what was found; call it after Run has returned.
func (l *Live) Result() Result {
	l.mu.Lock()
	defer l.mu.Unlock()
	r := l.analysis.Result()
	_, r.Damage = l.journal.became()
	return r
}

// liveSink is the poller's way into the session.
type liveSink Live

// Exchange takes a finished exchange.
func (s *liveSink) Exchange(x obd.Exchange, got *reply.Decoded) {
	l := (*Live)(s)
	l.take(recording.OfExchange(x), got)
	if l.wantsCounts(x.Done) {
		l.poller.WantCounts()
	}
}

// Link takes a change of the link. What is known of adapter and car by then goes into the
// recording's head.
func (s *liveSink) Link(c obd.LinkChange) {
	l := (*Live)(s)
	l.take(recording.OfLink(c), nil)
	if c.State == obd.LinkCar {
		can := l.poller.Capabilities()
		l.mu.Lock()
		defer l.mu.Unlock()
		l.journal.about(recording.About{At: c.At, Adapter: can.Adapter, Protocol: can.Protocol, Extra: map[string]string{"uses": can.String()}})
	}
}

// take is the pump's way into the session.
func (l *Live) take(e recording.Entry, d *reply.Decoded) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.step(e, d)
}

// step writes an entry and then has it analysed and shown; the lock is held. d is the entry's
// exchange, decoded by the connection; nil where it has none. Once a code check was asked for, an
// ECU may give the car's identification number, even unasked, as in a freeze frame. The number is
// personal, so it is hidden before the entry is written.
func (l *Live) step(e recording.Entry, d *reply.Decoded) {
	e = recording.Truncate(e)
	kept := e
	if l.check.Asked && d != nil {
		kept.Exchange = l.mask.Hide(e.Exchange, d)
	}
	l.journal.write(&kept)
	samples := l.analysis.take(&e, d)
	l.board.show(l.analysis, &e, samples)
	if len(samples) > 0 {
		l.answered++
	}
	l.phase = l.analysis.phase()
}

// Felt marks this moment as one at which the user felt the shake: one press of the key. What presses
// are one mark is decided by their times, see [Mark].
func (l *Live) Felt() { l.mark(func(at time.Duration) recording.Entry { return recording.Felt(at) }) }

// TakeBack takes the last felt mark back, and returns it; ok is false where there is none.
func (l *Live) TakeBack() (m Mark, ok bool) {
	l.mu.Lock()
	m, ok = l.analysis.marks.last()
	l.mu.Unlock()
	if ok {
		l.mark(recording.Undo)
	}
	return m, ok
}

// SetBlind begins or ends a blind pass: the screen hides what was found, so that felt marks are made
// without it.
func (l *Live) SetBlind(on bool) {
	l.mark(func(at time.Duration) recording.Entry { return recording.Blind(at, on) })
}

// Note marks this moment with words.
func (l *Live) Note(text string) {
	l.mark(func(at time.Duration) recording.Entry { return recording.Note(at, text) })
}

func (l *Live) mark(of func(time.Duration) recording.Entry) {
	at := l.since()
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.finished {
		return
	}
	l.step(of(at), nil)
}

// Snapshot copies what there is to show.
func (l *Live) Snapshot(dst *Snapshot) {
	l.mu.Lock()
	defer l.mu.Unlock()
	dst.Now = l.analysis.end
	if !l.finished {
		dst.Now = max(dst.Now, l.since())
	}
	dst.Phase, dst.Recording = l.phase, l.path
	dst.Stopped, dst.Trouble = l.journal.became()
	dst.Replay = ReplayState{}
	dst.Check = l.check
	fill(dst, l.analysis, &l.board)
	dst.Link.Source = l.source
}
