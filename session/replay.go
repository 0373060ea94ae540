package session

import (
	"context"
	"sync"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
	"github.com/judder-obd/judder/session/complaint"
	"github.com/judder-obd/judder/session/recording"
)

// Replay plays a recording as if it were driven again, at any speed, held, or moved to
// another time. The whole recording is analysed once at the start, so that what lies ahead is
// known.
type Replay struct {
	entries []recording.Entry
	whole   *Result // never changed
	course  Course  // of the whole recording
	source  string
	profile *vehicle.Profile
	read    *Analysis // of the whole recording

	mu       sync.Mutex
	analysis *Analysis
	board    board
	next     int           // entry that comes next
	at       time.Duration // the drive's clock
	speed    float64       // 0: as fast as it can
	held     bool
	beside   beside // marks made at the bench
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
	var read courses
	a, damage, err := through(path, func(e *recording.Entry, samples []pids.Sample) {
		r.entries = append(r.entries, *e)
		read.take(samples)
	})
	if err != nil {
		return nil, err
	}
	r.profile, r.read = a.decoder.Profile, a
	r.beside = openBeside(path)
	a.unread = r.beside.unread
	whole := a.Result()
	whole.Damage = damage
	r.whole = &whole
	r.course = read.course()
	r.rewind()
	return r, nil
}

// rewind goes back to the start.
func (r *Replay) rewind() {
	r.analysis, r.board, r.next, r.at = NewAnalysis(r.profile), board{}, 0, 0
	r.analysis.passes.setBox(r.whole.Complaint)
	r.analysis.unread = r.beside.unread
}

// SetComplaint puts another complaint to the drive than the recording has; the recording stays as it
// is.
func (r *Replay) SetComplaint(box complaint.Box) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.read.passes.setBox(box)
	whole := r.read.Result()
	whole.Damage = r.whole.Damage
	r.whole = &whole
	r.analysis.passes.setBox(box)
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
		r.board.show(r.analysis, e, r.analysis.Take(e))
		r.at = max(r.at, e.At)
		r.next++
	}
	if r.next == len(r.entries) {
		r.analysis.Finish()
		r.at = r.whole.Duration
	}
}

// Whole is what was found in the whole recording.
func (r *Replay) Whole() Result { return *r.whole }

// End ends the replay; Run returns soon after.
func (r *Replay) End() {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.end != nil {
		r.end()
	}
}

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
