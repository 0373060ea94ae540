package session

import (
	"math"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/pids"
)

// Arming is the step that the user announced, its set-up, and what came of it so far; zero where none
// is announced.
type Arming struct {
	On       bool
	Kind     steps.Kind
	Since    time.Duration
	Setup    [3]Tick
	Made     int            // steps of the kind since the first announcement
	Last     steps.Step     // the latest of them; it says why where it was not valid
	Contrast steps.Contrast // over the times in which the kind was announced
}

// Tick is one thing that a step needs, and whether it is there now.
type Tick struct {
	Need SetupNeed
	OK   bool
}

// SetupNeed is one of the things that steps need.
type SetupNeed uint8

// The needs.
const (
	NeedWarm    SetupNeed = iota // the converter clutch applies
	NeedCruise                   // road speed in the band that is judged
	NeedSteady                   // throttle steady
	NeedOpen                     // throttle not closed
	NeedRolling                  // at 30 km/h and more
	NeedStands                   // standstill
	NeedRuns                     // the engine runs
	NeedRate                     // engine speed is read often enough to measure a swing
	needCount
)

var needWords = [needCount]string{
	NeedWarm: "engine warm", NeedCruise: "30 to 115 km/h", NeedSteady: "throttle steady", NeedOpen: "throttle open",
	NeedRolling: "30 km/h or more", NeedStands: "car stands", NeedRuns: "engine runs", NeedRate: "enough readings",
}

// Words are the need for a person, in at most 15 characters.
func (n SetupNeed) Words() string {
	if int(n) >= len(needWords) {
		return ""
	}
	return needWords[n]
}

// setups are the three needs of each kind.
var setups = [steps.KindCount][3]SetupNeed{
	steps.ClutchRelease: {NeedWarm, NeedCruise, NeedSteady},
	steps.NeutralCoast:  {NeedRolling, NeedRuns, NeedRate},
	steps.LowerGear:     {NeedCruise, NeedSteady, NeedRate},
	steps.ThrottleLift:  {NeedCruise, NeedSteady, NeedOpen},
	steps.FullThrottle:  {NeedWarm, NeedCruise, NeedSteady},
	steps.ParkSweep:     {NeedStands, NeedRuns, NeedRate},
}

// Figures of the needs.
const (
	lockUpFromC   = 54. // coolant: here a converter clutch applies (service information, 1995)
	rollsFromKMH  = 30. // from here a coast in neutral is recognised
	steadyLeast   = 1500 * time.Millisecond
	measuredFrom  = 4.   // readings a second from which a swing is measured
	engineRunsRPM = 400. // slower is no running engine (a misfire monitor starts there: service information, 2022)
)

// arming is what there is to show of the announced step.
func (a *Analysis) arming(now *Snapshot) Arming {
	b := &a.steps
	in := b.armed()
	if in == nil {
		return Arming{}
	}
	out := Arming{On: true, Kind: in.Kind, Since: in.Start}
	for i, n := range setups[in.Kind] {
		out.Setup[i] = Tick{n, a.has(n, now)}
	}
	during := b.during(in.Kind)
	for _, s := range b.watch.Found() {
		if s.Kind == in.Kind && during(s.Start) {
			out.Made++
			out.Last = s
		}
	}
	out.Contrast = steps.Compare(in.Kind, b.watch.Found(), a.detector.Events(), during)
	return out
}

// has reports whether a need is there now.
func (a *Analysis) has(n SetupNeed, now *Snapshot) bool {
	d := &now.Detector
	value := func(s pids.Signal) float64 {
		for i := range now.Lanes {
			if now.Lanes[i].Signal == s {
				return now.Lanes[i].Value
			}
		}
		return math.NaN()
	}
	switch n {
	case NeedWarm:
		return value(pids.ECT) >= lockUpFromC
	case NeedCruise:
		v := value(pids.VSS)
		return v >= detect.CruiseFromKMH && v <= detect.CruiseToKMH
	case NeedRolling:
		return value(pids.VSS) >= rollsFromKMH
	case NeedSteady:
		return d.SteadyFor >= steadyLeast
	case NeedOpen:
		return d.Reason != detect.ClosedThrottle
	case NeedStands:
		return value(pids.VSS) < 1
	case NeedRuns:
		return value(pids.RPM) >= engineRunsRPM
	case NeedRate:
		return d.Rate >= measuredFrom
	}
	return false
}
