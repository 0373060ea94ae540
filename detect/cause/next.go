package cause

import "github.com/judder-obd/judder/detect/steps"

// Test is what to do next.
type Test uint8

// The tests, the most telling first.
const (
	NoTest       Test = iota // all was tried
	Reproduce                // nothing was seen or felt yet
	TapBrake                 // release the clutch in a shudder
	TapMore                  // again, until there are three with and three without
	CheckCodes               // read codes and misfire counts
	CoastNeutral             // through the speed of the shake
	LowerTheGear             // at the same road speed
	SweepInPark              // through the engine speed of the shake
	LookAtMounts             // by hand

	testCount = iota
)

// enoughTaps is how many shudders with the clutch released, and how many without, make a contrast
// that another person believes (chosen: three of three against none of three is a chance of one in
// twenty by Fisher's exact test).
const enoughTaps = 3

// next is the first test that would tell more.
func next(f *Facts, l *Ledger) Test {
	tap := f.contrast(steps.ClutchRelease)
	undone := func(c Cause, r Rule) bool {
		for _, x := range l.Lines {
			if x.Cause == c && x.Side == Untested && x.Rule == r {
				return true
			}
		}
		return false
	}
	switch {
	case !f.CodesRead && len(l.Of(Misfire, For)) > 0 && tap.With == tap.Stopped:
		return CheckCodes // a misfire goes before all else (published order of work)
	case len(f.Events) == 0 && len(f.Felt) == 0:
		return Reproduce
	case len(f.Events) == 0 && undone(Tyre, NoNeutralTried):
		return CoastNeutral // felt and not seen in engine speed
	case len(f.Events) > 0 && tap.With == 0:
		return TapBrake
	case len(f.Events) > 0 && (tap.With < enoughTaps || tap.Without < enoughTaps):
		return TapMore
	case !f.Misfire.Read && !f.CodesRead:
		return CheckCodes
	case undone(Tyre, NoNeutralTried):
		return CoastNeutral
	case !f.tried(steps.LowerGear) && (tap.With == 0 || tap.Stopped < tap.With):
		return LowerTheGear
	case undone(Mount, NoParkSweep):
		return SweepInPark
	}
	return LookAtMounts
}
