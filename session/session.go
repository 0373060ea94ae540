package session

import (
	"context"
	"errors"
	"math"
	"sync"
	"time"

	"judder/detect"
	"judder/obd"
	"judder/obd/drive"
	"judder/obd/reply"
	"judder/pids"
	"judder/session/recording"
)

// Recorder takes the entries of a live session; [recording.Writer] is one.
type Recorder interface {
	Append(recording.Entry) error
	About(recording.About) error
	Close(why string) error
}

// Live is a session on a car. The poller's goroutine pumps: every entry is written first,
// then decoded, judged and put on the board. A screen pulls Snapshot and may call the other
// methods at any time.
type Live struct {
	poller *drive.Poller
	since  func() time.Duration
	source string
	path   string

	mu       sync.Mutex
	rec      Recorder // nil when nothing is recorded
	analysis *Analysis
	board    board
	phase    Phase
	trouble  string
	stopped  RecordingStop
	recorded int // exchanges with the car that were written
	answered int // exchanges with the car that brought a reading
	end      context.CancelFunc
	finished bool
	check    CheckState
	vins     reply.VINMask
}

// NewLive makes a live session. since gives the time since its start; path is where rec
// writes, for the screen.
func NewLive(poller *drive.Poller, since func() time.Duration, source string, rec Recorder, path string) *Live {
	return &Live{poller: poller, since: since, source: source, rec: rec, path: path, analysis: NewAnalysis(poller.Profile())}
}

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
	switch {
	case err != nil:
		why = recording.WhyLinkLost
	case errors.Is(context.Cause(ctx), context.DeadlineExceeded):
		why = recording.WhyTime
	}
	l.finish(why)
	return err
}

func (l *Live) finish(why string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.analysis.Finish()
	l.phase, l.finished = Finished, true
	if l.rec != nil {
		l.complain(l.rec.Close(why))
	}
}

// End ends the session; Run returns soon after.
func (l *Live) End() {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.end != nil {
		l.end()
	}
}

// Recorded is how many exchanges with the car have been written.
func (l *Live) Recorded() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.recorded
}

// Exchanges is how many exchanges have brought readings from the car.
func (l *Live) Exchanges() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.answered
}

// Heard tells whether the car ever said anything, be it no reading.
func (l *Live) Heard() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	c := &l.analysis.decoder.Counts
	return c.Messages+c.Damaged+c.Unasked > 0
}

// EndText is the latest that is known of the link, as recorded.
func (l *Live) EndText() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.board.said
}

// Result is what was found; call it after Run has returned.
func (l *Live) Result() Result {
	l.mu.Lock()
	defer l.mu.Unlock()
	r := l.analysis.Result()
	r.Damage = l.trouble
	return r
}

// liveSink is the poller's way into the session.
type liveSink Live

// Exchange takes a finished exchange. Once a standing check was asked for, a computer may tell
// the identification number of the car unasked, as in a snapshot: it is personal.
func (s *liveSink) Exchange(x obd.Exchange) {
	l := (*Live)(s)
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.check.Asked {
		x = l.vins.Hide(x)
	}
	l.step(recording.OfExchange(x))
}

// Link takes a change of the link. What is known of adapter and car by then goes into the
// recording's head.
func (s *liveSink) Link(c obd.LinkChange) {
	l := (*Live)(s)
	l.take(recording.OfLink(c))
	if c.State == obd.LinkCar {
		can := l.poller.Capabilities()
		l.mu.Lock()
		defer l.mu.Unlock()
		l.about(recording.About{At: c.At, Adapter: can.Adapter, Protocol: can.Protocol, Extra: map[string]string{"uses": can.String()}})
	}
}

// take is the pump's way into the session.
func (l *Live) take(e recording.Entry) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.step(e)
}

// step writes an entry and then has it analysed and shown; the lock is held.
func (l *Live) step(e recording.Entry) {
	e = recording.Truncate(e)
	l.write(e)
	if l.board.take(l.analysis, &e) > 0 {
		l.answered++
	}
	l.phase = l.analysis.phase()
}

// phase is what an unfinished live session does: the first reading counts, whatever of the
// adapter is still being set up.
func (a *Analysis) phase() Phase {
	switch {
	case a.link.open() != nil:
		return LinkLost
	case a.link.seen:
		return Running
	}
	return Connecting
}

// write records an entry. The first failure is told on the screen, and the session goes on
// without recording.
func (l *Live) write(e recording.Entry) {
	if l.rec == nil {
		return
	}
	if err := l.rec.Append(e); err != nil {
		l.complain(err)
		return
	}
	if e.Kind == recording.KindExchange && isRequest(e.Exchange.Request) {
		l.recorded++
	}
}

func (l *Live) about(a recording.About) {
	if l.rec != nil {
		l.complain(l.rec.About(a))
	}
}

// complain keeps the first error of the recording for the screen.
func (l *Live) complain(err error) {
	if err != nil && l.trouble == "" {
		l.trouble = err.Error()
		var stopped *recording.WriteError
		if errors.As(err, &stopped) {
			l.stopped = RecordingStop{stopped.At, stopped.Cause()}
		}
	}
}

// Stopped is where and why the recording stopped before the session did.
func (l *Live) Stopped() RecordingStop {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.stopped
}

// Felt marks this moment as one at which the user felt the shake.
func (l *Live) Felt() { l.mark(func(at time.Duration) recording.Entry { return recording.Felt(at) }) }

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
	l.step(of(at))
}

// Pause does nothing: a live session cannot be held.
func (l *Live) Pause(bool) {}

// SetSpeed does nothing: a live session runs at its own speed.
func (l *Live) SetSpeed(float64) {}

// Seek does nothing: a live session has no other time than now.
func (l *Live) Seek(time.Duration) {}

// Snapshot copies what there is to show.
func (l *Live) Snapshot(dst *Snapshot) {
	l.mu.Lock()
	defer l.mu.Unlock()
	dst.Now = l.analysis.end
	if !l.finished {
		dst.Now = max(dst.Now, l.since())
	}
	dst.Phase, dst.Recording, dst.Trouble = l.phase, l.path, l.trouble
	dst.Stopped = l.stopped
	dst.Replay = ReplayState{}
	dst.Check = l.check
	fill(dst, l.analysis, &l.board)
	dst.Link.Source = l.source
}

// fill copies what the analysis and the board hold.
func fill(dst *Snapshot, a *Analysis, b *board) {
	b.fill(dst, dst.Now)
	dst.Link.Damaged, dst.Link.Silent, dst.Link.Waited = a.decoder.Counts.Damaged, a.answers.silent, a.answers.waited
	dst.Unread = a.answers.unread(dst.Now)
	dst.Marks = append(dst.Marks[:0], a.marks...)
	d := a.detector
	dst.Detector = d.State()
	dst.Events = append(dst.Events[:0], d.Events()...)
	dst.Stops = append(dst.Stops[:0], d.Stops()...)
	dst.Observations = append(dst.Observations[:0], d.Observations()...)
	dst.Slip = append(dst.Slip[:0], a.slip.watch.Found()...)
	dst.Apparent = a.slip.apparent.Now()
	dst.Losses = append(dst.Losses[:0], a.link.losses...)
	dst.Checks = append(dst.Checks[:0], a.checks.all...)
	dst.Missing = append(dst.Missing[:0], a.missing.list()...)
	dst.Spans = append(dst.Spans[:0], d.Spans()...)
	dst.Verdict = d.Verdict()
	dst.showRenewal()
	if b.lost || d.Unread(dst.Now) || a.answers.never(dst.Now) {
		dst.blank()
	}
}

// blank takes away what is told of a moment that has passed: engine speed is not read.
func (s *Snapshot) blank() {
	nan := math.NaN()
	d := &s.Detector
	d.Reason, d.Alarmed, d.Slow, d.SteadyFor, d.Rate = detect.LinkGap, false, false, 0, 0
	d.SwingRPM, d.LimitRPM, d.SmallestRPM, d.SpeedKMH = nan, nan, nan, nan
	s.Apparent = detect.ApparentSlip{SlipRPM: nan, PlusMinusRPM: nan, LockedRPM: nan}
}

// showRenewal gives the lane of engine speed the rate at which the car renews it, where that
// is clearly lower than the rate at which it is read: repeats tell nothing new.
func (s *Snapshot) showRenewal() {
	const clearly = 0.6
	for i := range s.Lanes {
		l := &s.Lanes[i]
		if l.Signal == pids.RPM && l.Value > 0 && s.Detector.Rate > 0 && s.Detector.Rate < clearly*l.Rate {
			l.Rate, l.Repeats = s.Detector.Rate, true
		}
	}
}
