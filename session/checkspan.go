package session

import (
	"time"

	"github.com/judder-obd/judder/session/recording"
)

// CodeCheck is a code check inside a drive: engine speed was not read meanwhile.
type CodeCheck struct {
	Start, End time.Duration // End is Start while it runs
	Broke      bool          // it is not whole
	Kept       string        // file with the result; "" when it is not kept
}

// checkWatch follows the code checks of a drive.
type checkWatch struct {
	all  []CodeCheck
	open bool
}

func (w *checkWatch) take(at time.Duration, c recording.Check) {
	switch {
	case c.State != recording.CheckBegun:
		if w.open {
			last := &w.all[len(w.all)-1]
			last.Broke, last.Kept = c.State == recording.CheckBroke, c.Kept
		}
		w.finish(at)
	case !w.open:
		w.all, w.open = append(w.all, CodeCheck{Start: at, End: at}), true
	}
}

// finish closes what is open.
func (w *checkWatch) finish(at time.Duration) {
	if w.open {
		w.all[len(w.all)-1].End, w.open = at, false
	}
}

// Within is how much of the time from start to end lies in one of the checks.
func Within(start, end time.Duration, in []CodeCheck) (sum time.Duration) {
	for i := range in {
		sum += max(min(end, in[i].End)-max(start, in[i].Start), 0)
	}
	return sum
}
