package detect

import (
	"fmt"
	"strings"
)

// The names of reasons, kinds and findings: as machines see them, and where it differs as people do.
var (
	reasonWords = [...]string{
		Judged: "judged", EngineStopped: "engine stopped", Starting: "engine just started",
		Settling: "settling", ClosedThrottle: "throttle closed",
		ThrottleMoving: "throttle moving", SpeedChanging: "speed changing", OutsideBand: "outside the speed band",
		RatioStepped: "gear or lock-up just changed", TooFewReadings: "too few readings", LinkGap: "engine speed not read",
		FloorNotLearnt: "this car's scatter not learnt yet", NotTied: "engine speed not tied to road speed",
		NoRoadSpeed:   "road speed not read",
		LoadNotLearnt: "this car's scatter under this load not learnt yet",
	}
	plainReasons = [...]string{
		Judged: "usable", EngineStopped: "engine stopped", Starting: "engine just started",
		Settling: "just started reading", ClosedThrottle: "foot off",
		ThrottleMoving: "throttle moving", SpeedChanging: "road speed changing", OutsideBand: "too slow or too fast",
		RatioStepped: "gear or clutch changed", TooFewReadings: "too few readings", LinkGap: "engine speed not read",
		FloorNotLearnt: "settling in", NotTied: "no fixed gear",
		NoRoadSpeed:   "road speed not read",
		LoadNotLearnt: "settling in: new load",
	}
	stopWords = [...]string{
		StopAutomatic: "automatic", StopRolling: "rolling", StopStall: "stall", StopOff: "off", StopUnseen: "not seen to its end",
	}
	observationWords = [...]string{
		SlowSwing: "slow swing", LockUpCycling: "lock-up cycling", GearHunting: "gear hunting",
		IrregularScatter: "irregular scatter",
	}
	plainObservations = [...]string{
		SlowSwing: "slow surge", LockUpCycling: "lock-up cycling", GearHunting: "gear hunting",
		IrregularScatter: "rough running",
	}
	findingWords = [...]string{
		CannotTell: "cannot tell", NoShudder: "no shudder", Shudder: "shudder",
	}
)

// AnotherHz reports whether the frequency may be another: it may be an alias, or the readings were so few
// that it may be any.
func (e *Event) AnotherHz() bool { return len(e.Hz) > 1 || len(e.Hz) == 1 && e.sparse() }

// sparse reports whether engine speed was read too seldom in an event to be sure of its frequency.
func (e *Event) sparse() bool {
	return e.Readings > 0 && float64(e.Readings-1) < slowRate*(e.End-e.Start).Seconds()
}

// Frequency is the frequency in words, with those that it may be the alias of: "1.8 Hz or 17.9 Hz",
// "1.8 Hz or another"; "" where none is known.
func (e *Event) Frequency() string {
	words := make([]string, len(e.Hz))
	for i, f := range e.Hz {
		words[i] = fmt.Sprintf("%.1f Hz", f)
	}
	if len(words) > 0 && e.sparse() {
		words = append(words, "another")
	}
	return strings.Join(words, " or ")
}

// Size is how engine speed swung, in words: "115 rpm peak to peak, 1.8 Hz or 17.9 Hz".
func (e *Event) Size() string {
	size := fmt.Sprintf("%.0f rpm peak to peak", e.SwingRPM)
	if hz := e.Frequency(); hz != "" {
		size += ", " + hz
	}
	return size
}

// String is the reason's name for machines.
func (r Reason) String() string { return reasonWords[r] }

// Words are the reason for a person, in at most 24 characters.
func (r Reason) Words() string {
	if int(r) >= len(plainReasons) {
		return "not usable"
	}
	return plainReasons[r]
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

// String is the kind's name for machines.
func (k ObservationKind) String() string { return observationWords[k] }

// Words are the kind for a person, in at most 15 characters.
func (k ObservationKind) Words() string {
	if int(k) >= len(plainObservations) {
		return "other swing"
	}
	return plainObservations[k]
}

// String is the finding.
func (f Finding) String() string { return findingWords[f] }
