package steps

import (
	"slices"
	"time"

	"github.com/judder-obd/judder/detect"
)

// Contrast compares the shudders in which a step was made with those in which it was not. Both times
// begin at the step: for a shudder without one, at the middle delay at which the others had theirs.
type Contrast struct {
	Kind    Kind
	With    int           // shudders in which the step was made and was valid
	Stopped int           // of them, those that stopped
	Within  time.Duration // all of those that stopped did so within this
	Without int           // shudders without the step
	WentOn  int           // of them, those that lasted beyond the delay and Within
	For     time.Duration // middle of how long those went on after the delay
}

// A step belongs to a shudder when it begins inside, or this long after its end: the release that
// ends a shudder is seen a little after it. A step that comes earlier than this into a shudder is the
// change of load that began it, or chance (chosen).
const (
	belongsAfter  = 600 * time.Millisecond
	belongsBefore = 300 * time.Millisecond
)

// Belongs reports whether a step was made in a shudder.
func (s *Step) Belongs(ev *detect.Event) bool {
	return s.Start >= ev.Start+belongsBefore && s.Start <= ev.End+belongsAfter
}

// Compare makes the contrast of a kind of step over the shudders of a drive, or of the part of it in
// which the step was announced: which reports whether a shudder counts; nil counts all.
func Compare(kind Kind, all []Step, events []detect.Event, which func(*detect.Event) bool) Contrast {
	c := Contrast{Kind: kind}
	var delays []time.Duration
	var others []time.Duration
	for i := range events {
		ev := &events[i]
		if which != nil && !which(ev) {
			continue
		}
		made := slices.IndexFunc(all, func(s Step) bool { return s.Kind == kind && s.Belongs(ev) })
		if made < 0 {
			others = append(others, ev.End-ev.Start)
			continue
		}
		s := &all[made]
		if s.Fault != Valid {
			continue
		}
		c.With++
		delays = append(delays, s.Start-ev.Start)
		if s.Calmed() {
			c.Stopped++
			c.Within = max(c.Within, s.Stopped)
		}
	}
	c.Without = len(others)
	delay := middle(delays)
	var lasted []time.Duration
	for _, d := range others {
		if d > delay+c.Within {
			c.WentOn++
			lasted = append(lasted, d-delay)
		}
	}
	c.For = middle(lasted)
	return c
}

// middle is the median; 0 of none.
func middle(d []time.Duration) time.Duration {
	if len(d) == 0 {
		return 0
	}
	slices.Sort(d)
	return (d[(len(d)-1)/2] + d[len(d)/2]) / 2
}
