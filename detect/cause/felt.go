package cause

import (
	"slices"
	"time"

	"github.com/judder-obd/judder/detect/steps"
)

// feltIn are the marks inside a stretch.
func (f *Facts) feltIn(start, end time.Duration) (at []time.Duration) {
	for _, m := range f.Felt {
		if m >= start && m <= end {
			at = append(at, m)
		}
	}
	return at
}

// feltNotSeen are marks at which engine speed was steady.
func feltNotSeen(f *Facts) (Line, bool) {
	l := Line{At: f.FeltSteady, N: len(f.FeltSteady), Of: len(f.Felt)}
	return l, l.N > 0
}

// feltDuring are the marks inside the steps of a kind, and how many such steps there were.
func (f *Facts) feltDuring(k steps.Kind, after time.Duration) (l Line) {
	for i := range f.Steps {
		s := &f.Steps[i]
		if s.Kind != k {
			continue
		}
		l.Of++
		if at := f.feltIn(s.Start, s.End+after); len(at) > 0 {
			l.N++
			l.At = append(l.At, at[0])
		}
	}
	return l
}

func feltInNeutral(f *Facts) (Line, bool) {
	l := f.feltDuring(steps.NeutralCoast, 0)
	return l, l.N > 0
}

// unfelt is a line of steps in which nothing was marked; it counts only in a drive in which the user
// marked what was felt.
func (f *Facts) unfelt(k steps.Kind) (Line, bool) {
	l := f.feltDuring(k, 0)
	if len(f.Felt) == 0 || l.N > 0 || l.Of == 0 {
		return Line{}, false
	}
	l.N = l.Of
	for i := range f.Steps {
		if s := &f.Steps[i]; s.Kind == k {
			l.At = append(l.At, s.Start)
		}
	}
	return l, true
}

func notFeltInNeutral(f *Facts) (Line, bool) { return f.unfelt(steps.NeutralCoast) }

func notInPark(f *Facts) (Line, bool) { return f.unfelt(steps.ParkSweep) }

func feltAtLift(f *Facts) (Line, bool) {
	l := f.feltDuring(steps.ThrottleLift, time.Second)
	return l, l.N > 0
}

func feltInPark(f *Facts) (Line, bool) {
	l := f.feltDuring(steps.ParkSweep, 0)
	return l, l.N > 0
}

func (f *Facts) tried(k steps.Kind) bool {
	return slices.ContainsFunc(f.Steps, func(s steps.Step) bool { return s.Kind == k })
}

func noNeutralTried(f *Facts) (Line, bool) { return Line{}, !f.tried(steps.NeutralCoast) }

func noParkSweep(f *Facts) (Line, bool) { return Line{}, !f.tried(steps.ParkSweep) }
