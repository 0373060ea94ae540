package drivetrain

import (
	"slices"
	"time"
)

// Truth is what really happened within the length of a drive, each list in order of time.
type Truth struct {
	Shudder    []Span // what a detector should find
	LookAlikes []Span // what it should not call shudder
	SlowSwings []Span // slower than 0.8 Hz: surge, slow hunting of the slip
	Stops      []Stop // engine stops
}

// Span is a stretch of time in which something swung the engine speed.
type Span struct {
	Start, End time.Duration // where its envelope passes half of its greatest height
	Kind       SpanKind
	SwingRPM   float64 // peak to peak of this component of engine speed alone, no noise
	Hz         float64 // mean frequency, cycles counted; 0 when it is not a wave
	SteadyFoot bool    // pedal and throttle within 5 % from a second before to the end
	CalmShare  float64 // share of the span in which pedal and throttle had been so for a second
	SpeedKMH   float64 // at the start
	Gear       int
}

// SpanKind names what swung.
type SpanKind string

// The kinds of spans.
const (
	GrabRelease      SpanKind = "grab-release"      // clutch grabs and lets go, 1–6 Hz
	SlipHunting      SpanKind = "slip hunting"      // slip control swings with it
	ApplyShudder     SpanKind = "apply shudder"     // one burst after the clutch applies
	FrictionShudder  SpanKind = "friction shudder"  // 8–25 Hz, 3–22 rpm
	SpanMisfire      SpanKind = "misfire"           // missing combustion
	SpanSurge        SpanKind = "surge"             // 0.3–0.8 Hz
	SpanRough        SpanKind = "rough road"        //
	SpanTipIn        SpanKind = "tip-in"            // pedal step and what follows
	SpanLockCycling  SpanKind = "lock-up cycling"   //
	SpanGearHunting  SpanKind = "gear hunting"      //
	SpanSlipControl  SpanKind = "slip control"      // a healthy clutch at work
	SpanAccessory    SpanKind = "accessory cycling" // A/C clutch or fan
	SpanRevving      SpanKind = "revving"           // in park
	SpanUntied       SpanKind = "untied"            // belt or power-split: speed not tied to the road
	SpanOverrunShift SpanKind = "overrun"           // fuel cut and its return
	SpanColdRough    SpanKind = "cold rough"        // a cold engine that burns unevenly
	SpanLash         SpanKind = "lash"              // a single blow through the drive line
	SpanTyre         SpanKind = "tyre"              // first order of a wheel
)

// Stop is one engine stop: engine speed is below 400 rpm from Start to End, cranking
// included. (400 rpm: where misfire monitors begin, common practice.)
type Stop struct {
	Start, End time.Duration
	Kind       StopKind
}

// StopKind names why the engine stood.
type StopKind string

// The kinds of stops.
const (
	StopAutomatic StopKind = "automatic" // stop/start at standstill
	StopRolling   StopKind = "rolling"   // the car still moved when it stopped
	StopStall     StopKind = "stall"
	StopOff       StopKind = "off" // key
)

// stopLimitRPM bounds a Stop.
const stopLimitRPM = 400

// Truth lays out the drive to its length and returns what happened in it. Spans and stops
// still open at the end are closed there.
func (d *Drive) Truth() Truth {
	d.extend(d.spec.Length)
	w := d.world
	var t Truth
	for _, s := range append(slices.Clone(w.spans), w.openSpans()...) {
		if s.Start >= d.spec.Length {
			continue
		}
		s.End = min(s.End, d.spec.Length)
		list := t.listFor(s)
		*list = append(*list, s)
	}
	for _, list := range []*[]Span{&t.Shudder, &t.LookAlikes, &t.SlowSwings} {
		slices.SortStableFunc(*list, func(a, b Span) int { return int(a.Start - b.Start) })
	}
	for _, s := range w.stops {
		if s.Start >= d.spec.Length {
			continue
		}
		if s.End == 0 || s.End > d.spec.Length {
			s.End = d.spec.Length
		}
		t.Stops = append(t.Stops, s)
	}
	return t
}

// slowestShudderHz parts shudder from slow swings: a slower one could
// also be a surge of the engine.
const slowestShudderHz = 0.8

func (t *Truth) listFor(s Span) *[]Span {
	switch s.Kind {
	case GrabRelease, SlipHunting, ApplyShudder, FrictionShudder:
		if s.Hz < slowestShudderHz {
			return &t.SlowSwings
		}
		return &t.Shudder
	case SpanSurge:
		return &t.SlowSwings
	default:
		return &t.LookAlikes
	}
}
