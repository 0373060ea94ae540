package cause

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/steps"
)

// Rule is why a line is in the ledger.
type Rule uint8

// The rules. Their sources are beside their functions in [rules].
const (
	NoRule Rule = iota
	StoppedAtRelease
	WentOnAtRelease
	StoppedAtFull
	StoppedAtLift
	StoppedInLower
	WentOnInLower
	SlipSwung
	CruiseLightWarm
	ClutchOpenCold
	LowGearsOnly
	NoReleaseTried
	CountRose
	CountsQuiet
	CountsUnread
	MisfireCode
	NoMisfireCode
	RoughRunning
	SurgeSeen
	TrimMoved
	TrimSteady
	TrimsUnread
	HuntingSeen
	CyclingSeen
	GearSteady
	GearUnread
	FeltNotSeen
	FeltInNeutral
	NotFeltInNeutral
	NoNeutralTried
	FeltAtLift
	FeltInPark
	NotFeltInPark
	NoParkSweep
	MountsUnseen

	ruleCount = iota
)

// rule is one row: which cause, which way it speaks, and the line that the facts give; false where
// they give none.
type rule struct {
	cause Cause
	side  Side
	rule  Rule
	line  func(f *Facts) (Line, bool)
}

// rules in order of cause and side. S numbers would mean nothing here, so the kind of the source is
// named.
var rules = []rule{
	// A touch of the brake opens the clutch under an unchanged throttle; a shudder of it stops, a
	// misfire does not (trade press; a maker's functional check of the clutch).
	{ConverterClutch, For, StoppedAtRelease, stopped(steps.ClutchRelease)},
	// Pressed well down, the clutch opens and its shudder goes; a misfire grows (trade, weak source).
	{ConverterClutch, For, StoppedAtFull, stopped(steps.FullThrottle)},
	{ConverterClutch, For, SlipSwung, slipSwung}, // fluctuating slip while applied (common practice, no source)
	// 30 to 115 km/h, load under about 60 %, coolant from 54 °C (bulletins of 1996 to 2009).
	{ConverterClutch, For, CruiseLightWarm, cruiseLightWarm},
	{ConverterClutch, Against, WentOnAtRelease, wentOn(steps.ClutchRelease)},
	{ConverterClutch, Against, ClutchOpenCold, clutchOpenCold}, // applies from 54 °C (service information, 1995)
	{ConverterClutch, Against, LowGearsOnly, lowGearsOnly},     // first and second gear alone are not it (a maker's bulletin)
	{ConverterClutch, Untested, NoReleaseTried, noReleaseTried},

	{Misfire, For, CountRose, countRose}, // service 06 counts each cylinder (SAE J1979)
	{Misfire, For, MisfireCode, misfireCode},
	{Misfire, For, WentOnAtRelease, wentOn(steps.ClutchRelease)},
	{Misfire, For, RoughRunning, roughRunning},
	{Misfire, Against, CountsQuiet, countsQuiet},
	{Misfire, Against, StoppedAtRelease, stopped(steps.ClutchRelease)},
	{Misfire, Against, StoppedAtFull, stopped(steps.FullThrottle)},
	{Misfire, Against, NoMisfireCode, noMisfireCode},
	{Misfire, Untested, CountsUnread, countsUnread},

	{Surge, For, SurgeSeen, surgeSeen}, // 0.1 to 2 Hz (from memory)
	{Surge, For, TrimMoved, trimMoved},
	{Surge, Against, TrimSteady, trimSteady},
	{Surge, Untested, TrimsUnread, trimsUnread},

	{Hunting, For, HuntingSeen, huntingSeen}, // repeated quick shifts (a maker's definitions, 2006)
	{Hunting, For, CyclingSeen, cyclingSeen}, // bulletins on a clutch that toggles
	{Hunting, Against, GearSteady, gearSteady},
	{Hunting, Untested, GearUnread, gearUnread},

	// A shake that stays in neutral is of tyres, wheels, propshaft or axle; one that goes is of the
	// engine's side (service manuals on road testing).
	{Tyre, For, FeltInNeutral, feltInNeutral},
	{Tyre, For, FeltNotSeen, feltNotSeen},
	{Tyre, For, WentOnInLower, wentOn(steps.LowerGear)}, // by road speed, whatever the gear (service manual, 1989)
	{Tyre, Against, NotFeltInNeutral, notFeltInNeutral},
	{Tyre, Against, StoppedAtRelease, stopped(steps.ClutchRelease)},
	{Tyre, Against, StoppedAtLift, stopped(steps.ThrottleLift)}, // a tyre shakes on (a maker's bulletin)
	{Tyre, Against, StoppedInLower, stopped(steps.LowerGear)},
	{Tyre, Untested, NoNeutralTried, noNeutralTried},

	{Mount, For, FeltAtLift, feltAtLift},       // follows torque: joints, half-shafts, mounts (service information, 1997)
	{Mount, For, FeltInPark, feltInPark},       // engine, mount or accessory (common practice, no source)
	{Mount, Against, NotFeltInPark, notInPark}, //
	{Mount, Untested, NoParkSweep, noParkSweep},
	{Mount, Untested, MountsUnseen, func(*Facts) (Line, bool) { return Line{}, true }}, // at most 24 mm (a maker's check)
}

// Make makes the ledger.
func Make(f *Facts) Ledger {
	var l Ledger
	for _, r := range rules {
		if line, ok := r.line(f); ok {
			line.Cause, line.Side, line.Rule = r.cause, r.side, r.rule
			l.Lines = append(l.Lines, line)
		}
	}
	l.Next = next(f, &l)
	l.Frequencies = frequencies(f)
	return l
}

// contrast is the comparison for a kind of step; zero where the step was not made.
func (f *Facts) contrast(k steps.Kind) steps.Contrast {
	for _, c := range f.Contrasts {
		if c.Kind == k {
			return c
		}
	}
	return steps.Contrast{}
}

// made are the valid steps of a kind that were made in a shudder, and that calmed it or not.
func (f *Facts) made(k steps.Kind, calmed bool) (at []time.Duration) {
	for i := range f.Steps {
		s := &f.Steps[i]
		if s.Kind == k && s.Fault == steps.Valid && s.Calmed() == calmed &&
			slices.ContainsFunc(f.Events, func(ev detect.Event) bool { return s.Belongs(&ev) }) {
			at = append(at, s.Start)
		}
	}
	return at
}

// stopped is the line of the shudders that a step of a kind stopped.
func stopped(k steps.Kind) func(f *Facts) (Line, bool) {
	return func(f *Facts) (Line, bool) {
		c := f.contrast(k)
		return Line{At: f.made(k, true), N: c.Stopped, Of: c.With, For: c.Within}, c.Stopped > 0
	}
}

// wentOn is the line of the shudders that went on through a step of a kind.
func wentOn(k steps.Kind) func(f *Facts) (Line, bool) {
	return func(f *Facts) (Line, bool) {
		c := f.contrast(k)
		return Line{At: f.made(k, false), N: c.With - c.Stopped, Of: c.With}, c.With > c.Stopped
	}
}

func noReleaseTried(f *Facts) (Line, bool) {
	return Line{}, f.contrast(steps.ClutchRelease).With == 0
}

func slipSwung(f *Facts) (Line, bool) {
	var l Line
	for _, s := range f.Slip {
		l.At = append(l.At, s.Start)
		l.Value = max(l.Value, s.SwingRPM)
		if s.Estimated {
			l.Named = "est."
		}
	}
	return l, len(f.Slip) > 0
}

// events are the shudders that are as fits wants.
func (f *Facts) events(fits func(*detect.Event) bool) (at []time.Duration) {
	for i := range f.Events {
		if fits(&f.Events[i]) {
			at = append(at, f.Events[i].Start)
		}
	}
	return at
}

// counted is a line of the shudders at some times, of all; false where there are none.
func (f *Facts) counted(at []time.Duration) (Line, bool) {
	return Line{At: at, N: len(at), Of: len(f.Events)}, len(at) > 0
}

const (
	lightLoadPct = 60 // load under which a throttle is light (bulletins: 15 to 60 %)
	clutchFromC  = 54 // coolant, from here the clutch applies (service information, 1995)
	lowestGear   = 3  // from here up (a maker's bulletin)
)

func cruiseLightWarm(f *Facts) (Line, bool) {
	l, ok := f.counted(f.events(func(ev *detect.Event) bool {
		return !(ev.LoadPct > lightLoadPct) && !(ev.CoolantC < clutchFromC) && !f.gearBelow(ev, lowestGear)
	}))
	if slices.ContainsFunc(f.Events, func(ev detect.Event) bool { return math.IsNaN(ev.CoolantC) }) {
		l.Named = "ECT" // SAE J1979: engine coolant temperature, which was not read
	}
	return l, ok
}

func clutchOpenCold(f *Facts) (Line, bool) {
	return f.counted(f.events(func(ev *detect.Event) bool { return ev.CoolantC < clutchFromC }))
}

func lowGearsOnly(f *Facts) (Line, bool) {
	at := f.events(func(ev *detect.Event) bool { return f.gearBelow(ev, lowestGear) })
	l, ok := f.counted(at)
	return l, ok && len(at) == len(f.Events)
}

// gearBelow reports whether the car reported a lower gear than that in an event.
func (f *Facts) gearBelow(ev *detect.Event, gear int) bool {
	for i := range f.Events {
		if f.Events[i].Start == ev.Start && i < len(f.Engine) {
			return f.Engine[i].Gear > 0 && f.Engine[i].Gear < gear
		}
	}
	return false
}

func countRose(f *Facts) (Line, bool) {
	var l Line
	most := 0
	for _, r := range f.Misfire.Rises {
		if r.Cylinder == 0 {
			continue
		}
		l.At = append(l.At, r.To)
		l.Value += float64(r.By)
		if r.By > most {
			most, l.Named = r.By, strconv.Itoa(r.Cylinder)
		}
	}
	return l, l.Value > 0
}

func countsQuiet(f *Facts) (Line, bool) {
	m := &f.Misfire
	return Line{N: m.Quiet, Of: len(f.Events)}, m.Read && len(m.Rises) == 0 && (m.Quiet > 0 || len(f.Events) == 0)
}

func countsUnread(f *Facts) (Line, bool) {
	l := Line{}
	if f.Misfire.Lacks {
		l.Named = "none"
	}
	return l, !f.Misfire.Read
}

// isMisfire reports whether a code is one of misfire: P0300 to P0312 (SAE J2012), whatever its failure type
// is.
func isMisfire(code string) bool {
	code, _, _ = strings.Cut(code, "-")
	return code >= "P0300" && code <= "P0312" && len(code) == 5
}

func misfireCode(f *Facts) (Line, bool) {
	for _, c := range f.Codes {
		if isMisfire(c.Code) {
			return Line{At: []time.Duration{c.At}, Named: c.Code}, true
		}
	}
	return Line{}, false
}

func noMisfireCode(f *Facts) (Line, bool) {
	_, has := misfireCode(f)
	return Line{}, f.CodesRead && !has
}

// observed is a line of the observations of a kind.
func observed(kind detect.ObservationKind) func(f *Facts) (Line, bool) {
	return func(f *Facts) (Line, bool) {
		var l Line
		for _, o := range f.Observations {
			if o.Kind == kind {
				l.At = append(l.At, o.Start)
				l.For += o.End - o.Start
				l.Value = max(l.Value, o.SwingRPM)
			}
		}
		l.N = len(l.At)
		return l, l.N > 0
	}
}

var (
	roughRunning = observed(detect.IrregularScatter)
	surgeSeen    = observed(detect.SlowSwing)
	huntingSeen  = observed(detect.GearHunting)
	cyclingSeen  = observed(detect.LockUpCycling)
)

// trimMovedPct is how far short-term fuel trim swings more inside than before for it to count; a
// healthy closed loop moves it by some per cent (common practice, no source).
const trimMovedPct = 6

func moved(t *Trim) bool { return t.MovedPct-t.BeforeMovePct >= trimMovedPct }

func trimMoved(f *Facts) (Line, bool) {
	var l Line
	for i := range f.Trims {
		if t := &f.Trims[i]; moved(t) {
			l.At = append(l.At, t.At)
			if t.MovedPct > l.Value {
				l.Value, l.Named = t.MovedPct, t.Signal
			}
		}
	}
	l.N = len(l.At)
	return l, l.N > 0
}

func trimSteady(f *Facts) (Line, bool) {
	var l Line
	for i := range f.Trims {
		if t := &f.Trims[i]; !moved(t) {
			l.At = append(l.At, t.At)
			l.Value = math.Max(l.Value, t.MovedPct)
		}
	}
	l.N, l.Of = len(l.At), len(f.Trims)
	return l, l.N > 0 && l.N == l.Of
}

func trimsUnread(f *Facts) (Line, bool) { return Line{}, len(f.Trims) == 0 && !f.TrimsRead }

func gearSteady(f *Facts) (Line, bool) {
	if !f.Gear.Read {
		return Line{}, false
	}
	return f.counted(f.events(func(ev *detect.Event) bool {
		return !slices.ContainsFunc(f.Gear.Changes, func(at time.Duration) bool { return at >= ev.Start && at <= ev.End })
	}))
}

func gearUnread(f *Facts) (Line, bool) { return Line{}, !f.Gear.Read }
