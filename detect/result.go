package detect

import "time"

// Reason is why a second of the drive was judged or not.
type Reason uint8

// Judged, or the first of the reasons that forbade it.
const (
	Judged Reason = iota
	EngineStopped
	Starting       // engine just started, or run-up after an automatic stop
	Settling       // first seconds after a gap or a stop
	ClosedThrottle // coasting or braking
	ThrottleMoving
	SpeedChanging
	OutsideBand  // road speed outside the band of a cruise
	RatioStepped // gear or lock-up just changed
	TooFewReadings
	LinkGap
	FloorNotLearnt
	NoRoadSpeed   // road speed was not read, or not lately
	NotTied       // engine speed is not tied to road speed (power-split hybrid, belt gearbox)
	LoadNotLearnt // how smooth this car runs under this load is not known yet

	ReasonCount = iota // how many there are
)

// Span is a stretch of the drive with one Reason. Spans follow each other without gaps
// and together are as long as the drive.
type Span struct {
	Start, End  time.Duration
	Reason      Reason
	SmallestRPM float64 // smallest swing (peak to peak) that would have been seen; 0 when not judged
}

// Event is a stretch of shudder.
type Event struct {
	Start, End  time.Duration
	SwingRPM    float64   // engine speed, peak to peak
	Hz          []float64 // main frequency first, then what it may be the alias of; empty when not known
	Regular     bool
	Readings    int     // engine-speed readings used
	LimitRPM    float64 // the limit it passed
	FloorRPM    float64 // this car's own scatter
	SpeedKMH    float64
	LoadPct     float64 // NaN when not read
	ThrottlePct float64 // NaN when not read
	CoolantC    float64 // NaN when not read
	CannotTell  string  // what else it could be, in words
}

// StopKind is the kind of an engine stop.
type StopKind uint8

// The kinds.
const (
	StopAutomatic StopKind = iota // standing, restarts by itself
	StopRolling                   // the car moves
	StopStall                     // standing or rolling, did not restart by itself
	StopOff                       // at the start or the end of the drive; an ECU answers, or falls asleep, after its last zero
	StopUnseen                    // too long unread to know how it ended: a silent link is no evidence
)

// Stop is a stretch with the engine stopped.
type Stop struct {
	Start, End time.Duration
	Kind       StopKind
	FromStart  bool // the engine had not been seen to run before
}

// ObservationKind is something seen in engine speed that is not shudder.
type ObservationKind uint8

// The kinds.
const (
	SlowSwing ObservationKind = iota
	LockUpCycling
	GearHunting
	IrregularScatter
)

// Observation is a stretch of something that is not shudder and is not hidden either.
type Observation struct {
	Start, End time.Duration
	Kind       ObservationKind
	SwingRPM   float64
}

// Finding is the verdict on a whole drive.
type Finding uint8

// The findings.
const (
	CannotTell Finding = iota
	NoShudder
	Shudder
)

// Verdict is the finding, its reason, and the limit of what could be seen.
type Verdict struct {
	Finding     Finding
	Reason      string        // in words
	Testable    time.Duration // how long the drive could have shown shudder
	SmallestRPM float64       // smallest swing that could have been seen; 0 when nothing was judged
}

// State is the present state of the detector; it is cheap to copy and holds no pointer.
type State struct {
	At          time.Duration
	Reason      Reason
	Alarmed     bool
	Slow        bool          // a slow swing is being seen
	SlowHz      float64       // its frequency; 0 when none is being seen
	Shaking     bool          // one look shows a wave; it may become an alarm
	SwingRPM    float64       // NaN when not measured
	LimitRPM    float64       // NaN when not known
	SmallestRPM float64       // smallest swing that could be seen now; NaN when not known
	Judged      time.Duration // judged so far
	SteadyFor   time.Duration // throttle steady since
	SpeedKMH    float64
	Rate        float64 // engine-speed readings a second
}
