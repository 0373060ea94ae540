package detect

import "fmt"

// The names of reasons, kinds and findings, as reports and machines see them.
var (
	reasonWords = [...]string{
		Judged: "judged", EngineStopped: "engine stopped", Starting: "engine just started",
		Settling: "settling", Cold: "engine cold", ClosedThrottle: "throttle closed",
		ThrottleMoving: "throttle moving", SpeedChanging: "speed changing", OutsideBand: "outside the speed band",
		RatioStepped: "gear or lock-up just changed", TooFewReadings: "too few readings", LinkGap: "engine speed not read",
		FloorNotLearnt: "this car's scatter not learnt yet", NotTied: "engine speed not tied to road speed",
		NoRoadSpeed: "road speed not read", ScatterTooLarge: "this car's scatter hides shudder",
	}
	stopWords = [...]string{
		StopAutomatic: "automatic", StopRolling: "rolling", StopStall: "stall", StopOff: "off", StopUnseen: "not seen to its end",
	}
	observationWords = [...]string{
		SlowSwing: "slow swing", LockUpCycling: "lock-up cycling", GearHunting: "gear hunting",
		IrregularScatter: "irregular scatter",
	}
	findingWords = [...]string{
		CannotTell: "cannot tell", NoShudder: "no shudder", Shudder: "shudder",
	}
)

// String is the reason in words.
func (r Reason) String() string { return reasonWords[r] }

// Words are the reason for a person; OutsideBand comes with its band of road speed.
func (r Reason) Words() string {
	if r == OutsideBand {
		return fmt.Sprintf("%s of %d to %d km/h", r, CruiseFromKMH, CruiseToKMH)
	}
	return r.String()
}

// Words are the stop for a person: "engine stop (rolling)", "engine off since the beginning",
// "engine off since the beginning, car rolling".
func (s Stop) Words() string {
	switch {
	case s.FromStart && s.Kind == StopRolling:
		return "engine off since the beginning, car rolling"
	case s.FromStart:
		return "engine off since the beginning"
	}
	return "engine stop (" + s.Kind.String() + ")"
}

// String is the kind of the stop.
func (k StopKind) String() string { return stopWords[k] }

// String is the kind of the observation.
func (k ObservationKind) String() string { return observationWords[k] }

// String is the finding.
func (f Finding) String() string { return findingWords[f] }
