package session

import (
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/slip"
	"github.com/judder-obd/judder/detect/steps"
)

// Snapshot copies what there is to show at the drive's clock.
func (r *Replay) Snapshot(dst *Snapshot) {
	r.mu.Lock()
	defer r.mu.Unlock()
	dst.Now, dst.Recording, dst.Trouble = r.at, "", ""
	dst.Stopped = RecordingStop{}
	fill(dst, r.analysis, &r.board)
	r.foresee(dst)
	dst.Marks = r.marksUpTo(dst.Marks, r.at)
	dst.conclude(r.analysis)
	dst.Link.Source = r.source
	dst.Replay = ReplayState{
		Whole:  r.whole,
		Length: r.whole.Duration, Speed: r.speed, Paused: r.held, Damage: r.whole.Damage,
		Events: r.whole.Events, Stops: r.whole.Stops, Observations: r.whole.Observations, Slip: r.whole.Slip,
		Spans: r.whole.Spans, Losses: r.whole.Losses, Checks: r.whole.Checks, Missing: r.whole.Missing, Marks: r.marksUpTo(nil, r.whole.Duration), Steps: r.whole.Steps,
		Course: r.course, MarksTrouble: r.beside.trouble,
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
	w, now := r.whole, r.at
	dst.Events = begun(dst.Events, w.Events, now, func(e *detect.Event) time.Duration { return e.Start })
	dst.Stops = begun(dst.Stops, w.Stops, now, func(s *detect.Stop) time.Duration { return s.Start })
	dst.Observations = begun(dst.Observations, w.Observations, now, func(o *detect.Observation) time.Duration { return o.Start })
	dst.Slip = begun(dst.Slip, w.Slip, now, func(s *slip.Swing) time.Duration { return s.Start })
	dst.Losses = begun(dst.Losses, w.Losses, now, func(l *Loss) time.Duration { return l.Start })
	dst.Missing = begun(dst.Missing, w.Missing, now, func(u *Missing) time.Duration { return u.Since })
	dst.Steps = begun(dst.Steps, w.Steps, now, func(s *steps.Step) time.Duration { return s.Start })
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

// begun copies to dst what began by now.
func begun[T any](dst, all []T, now time.Duration, start func(*T) time.Duration) []T {
	dst = dst[:0]
	for i := range all {
		if start(&all[i]) <= now {
			dst = append(dst, all[i])
		}
	}
	return dst
}
