package session

import (
	"strings"
	"time"
)

// Stretch is a piece of a drive.
type Stretch struct{ Start, End time.Duration }

// The notes with which a standing check begins and ends in a recording.
const (
	noteCheckBegins = "standing check begins"
	noteCheckOver   = "standing check over: "
	noteCheckBroke  = "standing check broke off, not whole: "
)

// checkWatch finds the standing checks of a drive by their notes.
type checkWatch struct {
	all  []Stretch
	open bool
}

func (w *checkWatch) note(at time.Duration, text string) {
	switch {
	case text == noteCheckBegins && !w.open:
		w.all, w.open = append(w.all, Stretch{at, at}), true
	case strings.HasPrefix(text, noteCheckOver), strings.HasPrefix(text, noteCheckBroke):
		w.finish(at)
	}
}

// finish closes what is open.
func (w *checkWatch) finish(at time.Duration) {
	if w.open {
		w.all[len(w.all)-1].End, w.open = at, false
	}
}

// Within is how much of the time from start to end lies in some of the stretches.
func Within(start, end time.Duration, in []Stretch) (sum time.Duration) {
	for _, s := range in {
		sum += max(min(end, s.End)-max(start, s.Start), 0)
	}
	return sum
}
