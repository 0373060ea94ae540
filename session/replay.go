package session

import (
	"context"
	"sync"
	"time"

	"judder/detect"
	"judder/pids"
	"judder/pids/vehicle"
	"judder/session/recording"
)

// Replay plays a recording as if it were driven again, at any speed, held, or moved to
// another time. The whole recording is analysed once at the start, so that what lies ahead is
// known.
type Replay struct {
	entries []recording.Entry
	whole   Result
	source  string
	profile *vehicle.Profile

	mu       sync.Mutex
	analysis *Analysis
	board    board
	next     int           // entry that comes next
	at       time.Duration // the drive's clock
	speed    float64       // 0: as fast as it can
	held     bool
	end      context.CancelFunc
	wake     chan struct{} // something was asked of the player
}

// frame is how often the replay moves on, and at most how much of the drive is taken in
// while the screen waits.
const (
	frame     = 20 * time.Millisecond
	batchMost = 4096
)

// OpenReplay reads a recording. speed is 1 for real time, 0 for as fast as it can.
func OpenReplay(path string, speed float64) (*Replay, error) {
	r := &Replay{source: path, speed: speed, wake: make(chan struct{}, 1)}
	a, damage, err := through(path, func(e *recording.Entry, _ []pids.Sample) {
		r.entries = append(r.entries, *e)
	})
	if err != nil {
		return nil, err
	}
	r.profile = a.decoder.Profile
	r.whole = a.Result()
	r.whole.Damage = damage
	r.rewind()
	return r, nil
}

// rewind goes back to the start.
func (r *Replay) rewind() {
	r.analysis, r.board, r.next, r.at = NewAnalysis(r.profile), board{}, 0, 0
}

// Run plays until the context ends or End is called. At the end of the recording it holds.
func (r *Replay) Run(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	r.mu.Lock()
	r.end = cancel
	r.mu.Unlock()
	last := time.Now()
	for {
		timer := time.NewTimer(frame)
		select {
		case <-ctx.Done():
			timer.Stop()
			return nil
		case <-r.wake:
			timer.Stop()
		case <-timer.C:
		}
		now := time.Now()
		r.play(now.Sub(last))
		last = now
	}
}

// play moves the drive's clock on by a piece of wall time.
func (r *Replay) play(passed time.Duration) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.held || r.next == len(r.entries) {
		return
	}
	if r.speed <= 0 {
		r.advance(r.whole.Duration, batchMost)
		return
	}
	r.at += time.Duration(float64(passed) * r.speed)
	r.advance(r.at, len(r.entries))
}

// advance takes in what happened up to t, at most so many entries.
func (r *Replay) advance(t time.Duration, most int) {
	for ; r.next < len(r.entries) && r.entries[r.next].At <= t && most > 0; most-- {
		e := &r.entries[r.next]
		r.board.take(r.analysis, e)
		r.at = max(r.at, e.At)
		r.next++
	}
	if r.next == len(r.entries) {
		r.analysis.Finish()
		r.at = r.whole.Duration
	}
}

// Whole is what was found in the whole recording.
func (r *Replay) Whole() Result { return r.whole }

// Snapshot copies what there is to show at the drive's clock.
func (r *Replay) Snapshot(dst *Snapshot) {
	r.mu.Lock()
	defer r.mu.Unlock()
	dst.Now, dst.Recording, dst.Trouble = r.at, "", ""
	dst.Stopped = RecordingStop{}
	fill(dst, r.analysis, &r.board)
	r.foresee(dst)
	dst.Link.Source = r.source
	dst.Replay = ReplayState{
		Length: r.whole.Duration, Speed: r.speed, Paused: r.held, Damage: r.whole.Damage,
		Events: r.whole.Events, Stops: r.whole.Stops, Observations: r.whole.Observations, Slip: r.whole.Slip,
		Spans: r.whole.Spans, Losses: r.whole.Losses, Checks: r.whole.Checks, Missing: r.whole.Missing, Marks: r.whole.Marks,
	}
	switch {
	case r.next == len(r.entries):
		dst.Phase = Finished
	case r.held:
		dst.Phase = Paused
	case OpenLoss(dst.Losses) != nil:
		dst.Phase = LinkLost
	default:
		dst.Phase = Replaying
	}
}

// foresee lists what has begun by the cursor as the whole recording knows it: a shudder from its
// first swing, and a gap of the link from its first moment, not only when it has become too long.
func (r *Replay) foresee(dst *Snapshot) {
	w, now := &r.whole, r.at
	dst.Events = begun(dst.Events, w.Events, now, func(e *detect.Event) time.Duration { return e.Start })
	dst.Stops = begun(dst.Stops, w.Stops, now, func(s *detect.Stop) time.Duration { return s.Start })
	dst.Observations = begun(dst.Observations, w.Observations, now, func(o *detect.Observation) time.Duration { return o.Start })
	dst.Slip = begun(dst.Slip, w.Slip, now, func(s *detect.SlipSwing) time.Duration { return s.Start })
	dst.Losses = begun(dst.Losses, w.Losses, now, func(l *Loss) time.Duration { return l.Start })
	dst.Missing = begun(dst.Missing, w.Missing, now, func(u *Missing) time.Duration { return u.Since })
	for i := range dst.Losses {
		dst.Losses[i].Open = now < dst.Losses[i].End
	}
	for _, s := range w.Spans {
		if s.Reason == detect.LinkGap && s.Start <= now && now < s.End {
			dst.blank()
		}
	}
	if OpenLoss(dst.Losses) != nil {
		dst.blank()
	}
}

// begun copies to dst those of all that began by now.
func begun[T any](dst, all []T, now time.Duration, start func(*T) time.Duration) []T {
	dst = dst[:0]
	for i := range all {
		if start(&all[i]) <= now {
			dst = append(dst, all[i])
		}
	}
	return dst
}

// Felt does nothing: a recording is not written to.
func (r *Replay) Felt() {}

// Note does nothing: a recording is not written to.
func (r *Replay) Note(string) {}

// End ends the replay; Run returns soon after.
func (r *Replay) End() {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.end != nil {
		r.end()
	}
}

// StartCheck does nothing: there is no car behind a recording.
func (r *Replay) StartCheck() error { return ErrNoCheck }

// Pause holds the replay, or lets it go on.
func (r *Replay) Pause(hold bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.held = hold
	r.poke()
}

// SetSpeed sets how fast the replay runs; 1 is real time, 0 as fast as it can.
func (r *Replay) SetSpeed(x float64) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.speed = max(x, 0)
	r.poke()
}

// Seek moves the replay to a time of the drive. What comes before is analysed again, so that
// the board shows what it would have shown then.
func (r *Replay) Seek(t time.Duration) {
	r.mu.Lock()
	defer r.mu.Unlock()
	t = min(max(t, 0), r.whole.Duration)
	if t < r.at {
		r.rewind()
	}
	r.advance(t, len(r.entries))
	r.at = t
	r.poke()
}

func (r *Replay) poke() {
	select {
	case r.wake <- struct{}{}:
	default:
	}
}
