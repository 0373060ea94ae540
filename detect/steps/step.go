package steps

import (
	"math"
	"time"
)

// Kind is what was done.
type Kind uint8

// The kinds.
const (
	ClutchRelease Kind = iota // engine speed rose under a steady throttle: the converter clutch opened
	NeutralCoast              // engine speed left the ratio while the car rolled
	LowerGear                 // engine speed rose to a higher ratio at the same road speed
	ThrottleLift              // a steady throttle was closed
	FullThrottle              // throttle or pedal was pressed well down
	ParkSweep                 // engine speed went up and down at standstill

	KindCount = iota // how many there are
)

var kindWords = [KindCount]string{
	ClutchRelease: "clutch release", NeutralCoast: "neutral coast", LowerGear: "lower gear",
	ThrottleLift: "throttle lift", FullThrottle: "full throttle", ParkSweep: "park sweep",
}

// String is the kind's name, for machines and for people.
func (k Kind) String() string {
	if int(k) >= len(kindWords) {
		return "other step"
	}
	return kindWords[k]
}

var kindCodes = [KindCount]string{
	ClutchRelease: "clutch-release", NeutralCoast: "neutral-coast", LowerGear: "lower-gear",
	ThrottleLift: "throttle-lift", FullThrottle: "full-throttle", ParkSweep: "park-sweep",
}

// Code is the kind as a recording spells it; "" for none of them.
func (k Kind) Code() string {
	if int(k) >= len(kindCodes) {
		return ""
	}
	return kindCodes[k]
}

// KindByCode is the kind of a code; ok is false for another code.
func KindByCode(code string) (k Kind, ok bool) {
	for k, c := range kindCodes {
		if c == code {
			return Kind(k), true
		}
	}
	return 0, false
}

// Fault is why a step does not count as a test; 0 when it does.
type Fault uint8

// The faults; a step has the first that applies.
const (
	Valid         Fault = iota
	NotSeenToEnd        // the drive or the link ended within two seconds
	FewReadings         // too few readings to measure the swing on both sides
	ThrottleMoved       // the throttle moved by more than 3 % meanwhile
	SpeedMoved          // road speed changed by more than 5 km/h meanwhile
	NothingShook        // engine speed was steady already: nothing to stop

	faultCount = iota
)

var faultWords = [faultCount]string{
	Valid: "", NotSeenToEnd: "the readings ended too early", FewReadings: "too few readings to measure the swing",
	ThrottleMoved: "the throttle moved", SpeedMoved: "road speed changed", NothingShook: "engine speed did not swing before it",
}

// Words are the fault for a person; "" for a valid step.
func (f Fault) Words() string {
	if int(f) >= len(faultWords) {
		return "not valid"
	}
	return faultWords[f]
}

// Step is one step: what was done, when, and what engine speed did.
type Step struct {
	Kind       Kind
	Start, End time.Duration // of the change of engine speed; of the whole coast, full throttle or sweep
	RPMStep    float64       // engine speed afterwards less before, rpm
	BeforeRPM  float64       // swing before, peak to peak; NaN where it was not measured
	NoWave     bool          // what moved before it was a step, or what this car always does
	AfterRPM   float64       // swing after it, in a sweep during it; NaN where it was not measured
	Stopped    time.Duration // from Start until the swing had fallen to half; 0 when it did not, or nothing swung
	SpeedKMH   float64       // at Start
	Gear       int           // reported before it; 0 where it is not known
	Armed      bool          // the user had announced it
	Fault      Fault
}

// Shook reports whether engine speed swung before the step as in a shudder.
func (s *Step) Shook() bool { return s.BeforeRPM >= shookRPM && !s.NoWave }

// Calmed reports whether a swing as in a shudder had fallen to half after the step.
func (s *Step) Calmed() bool { return s.Shook() && s.Stopped > 0 }

// shookRPM is the smallest swing that counts as shaking, rpm peak to peak: a little less than the
// smallest wave that the detector alarms at, since a step is a question and no finding (chosen).
const shookRPM = 40

func nan() float64 { return math.NaN() }
