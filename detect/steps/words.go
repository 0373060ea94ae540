package steps

import (
	"fmt"
	"time"
)

// todo is what to do for a step, and what to mind.
var todo = [KindCount]struct{ do, caution string }{
	ClutchRelease: {"Whenever it shakes, touch the brake just enough for the lights, keep the throttle. Every second time.",
		"Left foot, clear road behind you, cruise control off."},
	NeutralCoast: {"Go a little above the speed of the shake, foot off, select neutral, and coast through that speed. Mark what you feel.",
		"Empty straight road only. Never switch the engine off. Steering and brake assistance stay with the engine; reverse and park are one notch away."},
	LowerGear: {"Hold the speed of the shake, select one gear lower, and hold the same speed again.",
		"Never so low that the engine passes its red line."},
	ThrottleLift: {"Hold the speed of the shake. While it shakes, take the foot off at once.", "Mind the traffic behind you."},
	FullThrottle: {"While it shakes, press the throttle well down for two seconds.", "Only on a dry, clear road, within the speed limit."},
	ParkSweep:    {"In park, brakes held, raise engine speed slowly through that of the shake and let it fall again. Mark what you feel.", "In the open or with the exhaust drawn off; nobody in front of or behind the car."},
}

// Todo is what to do for a step of a kind, for a person.
func (k Kind) Todo() string {
	if int(k) >= len(todo) {
		return ""
	}
	return todo[k].do
}

// Caution is what to mind for a step of a kind, for a person, once as it is announced.
func (k Kind) Caution() string {
	if int(k) >= len(todo) {
		return ""
	}
	return todo[k].caution
}

// doneWords are how a step that was made is named in a contrast.
var doneWords = [KindCount]string{
	ClutchRelease: "tapped", NeutralCoast: "in neutral", LowerGear: "in the lower gear", ThrottleLift: "throttle closed",
	FullThrottle: "full throttle", ParkSweep: "swept",
}

// undone is how a shudder without the step is named.
func (k Kind) undone() string {
	if k == ClutchRelease {
		return "not tapped"
	}
	return "without it"
}

// Words are the contrast for a person: "tapped: stopped within 0.4 s, 3 of 3; not tapped: went on for
// 6.3 s, 3 of 3"; "" where the step was not made in a shake.
func (c *Contrast) Words() string {
	if c.With == 0 || int(c.Kind) >= len(doneWords) {
		return ""
	}
	done := doneWords[c.Kind]
	words := fmt.Sprintf("%s: stopped within %s, %d of %d", done, tenths(c.Within), c.Stopped, c.With)
	if c.Stopped == 0 {
		words = fmt.Sprintf("%s: went on, %d of %d", done, c.With, c.With)
	}
	if c.Without == 0 {
		return words
	}
	if c.WentOn == 0 {
		return words + fmt.Sprintf("; %s: stopped as soon, %d of %d", c.Kind.undone(), c.Without, c.Without)
	}
	return words + fmt.Sprintf("; %s: went on for %s, %d of %d", c.Kind.undone(), tenths(c.For), c.WentOn, c.Without)
}

func tenths(d time.Duration) string { return fmt.Sprintf("%.1f s", d.Seconds()) }
