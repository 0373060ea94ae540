package steps

import "time"

// arming is when the user announced which step.
type arming struct {
	spans []Armed
}

// Armed is a time in which a kind of step was announced.
type Armed struct {
	Kind       Kind
	Start, End time.Duration // End is 0 while it goes on
}

// Covers reports whether a time lies in it.
func (a *Armed) Covers(at time.Duration) bool { return at >= a.Start && (a.End == 0 || at < a.End) }

// Arm announces a kind of step from a time on, instead of another.
func (w *Watch) Arm(k Kind, at time.Duration) {
	w.Disarm(at)
	w.arming.spans = append(w.arming.spans, Armed{Kind: k, Start: at})
}

// Disarm ends what was announced.
func (w *Watch) Disarm(at time.Duration) {
	if n := len(w.arming.spans); n > 0 && w.arming.spans[n-1].End == 0 {
		w.arming.spans[n-1].End = max(at, 1)
	}
}

// Armed are the times in which a step was announced, oldest first; the last may go on.
func (w *Watch) Armed() []Armed { return w.arming.spans }

func (a *arming) covers(k Kind, at time.Duration) bool {
	for i := range a.spans {
		if s := &a.spans[i]; s.Kind == k && s.Covers(at) {
			return true
		}
	}
	return false
}
