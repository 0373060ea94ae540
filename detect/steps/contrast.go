package steps

import (
	"slices"
	"time"

	"github.com/judder-obd/judder/detect"
)

// Contrast compares the shakes in which a step was made with the shudders in which it was not. A
// shake that a step stopped at once is often too short for the detector, so those with the step are
// counted by the swing before it; those without it are the detector's.
type Contrast struct {
	Kind    Kind
	With    int           // valid steps, made while engine speed swung
	Stopped int           // of them, those after which the swing fell to half
	Within  time.Duration // all of those that stopped did so within this
	Without int           // shudders without the step
	WentOn  int           // of them, those that lasted longer than a driver's reaction and Within
	For     time.Duration // middle of how long those lasted
}

// reaction is about how long a shake lasts before a driver has touched the brake (chosen).
const reaction = time.Second

// A step belongs to a shudder when it begins inside, or this long after its end: the release that
// ends a shudder is seen a little after it. A step that comes earlier than this into a shudder, and after
// which it went on, is the change of load that began it, or chance (chosen).
const (
	belongsAfter  = 600 * time.Millisecond
	belongsBefore = 300 * time.Millisecond
)

// Belongs reports whether a step was made in a shudder.
func (s *Step) Belongs(ev *detect.Event) bool {
	from := ev.Start + belongsBefore
	if s.Calmed() {
		from = ev.Start // what stopped it did not begin it
	}
	return s.Start >= from && s.Start <= ev.End+belongsAfter
}

// Compare makes the contrast of a kind of step over a drive, or over the part of it in which the step
// was announced: in reports whether a time counts; nil counts all.
func Compare(kind Kind, all []Step, events []detect.Event, in func(time.Duration) bool) Contrast {
	c := Contrast{Kind: kind}
	for i := range all {
		s := &all[i]
		if s.Kind != kind || s.Fault != Valid || !s.Shook() || in != nil && !in(s.Start) {
			continue
		}
		c.With++
		if s.Calmed() {
			c.Stopped++
			c.Within = max(c.Within, s.Stopped)
		}
	}
	var lasted []time.Duration
	for i := range events {
		ev := &events[i]
		if in != nil && !in(ev.Start) || slices.ContainsFunc(all, func(s Step) bool { return s.Kind == kind && s.Belongs(ev) }) {
			continue
		}
		c.Without++
		if d := ev.End - ev.Start; d > reaction+c.Within {
			c.WentOn++
			lasted = append(lasted, d)
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
