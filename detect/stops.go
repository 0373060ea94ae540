package detect

import (
	"github.com/judder-obd/judder/detect/series"
	"math"
	"time"
)

// stopWatch follows the engine through stops. It is given engine speed with link faults
// already taken out, and road speed as last read.
type stopWatch struct {
	stops     []Stop
	stopped   bool
	everRan   bool
	open      Stop
	speed     float64 // km/h when it stopped; NaN when not known
	crank     float64 // s, first reading of the restart; NaN before
	cranked   float64 // s, last reading of the restart
	zero      float64 // s, last reading with the crankshaft at rest
	lastT     float64
	lastSpeed float64
	silent    float64 // s, longest silence within the stop
	slept     float64 // s, longest time within the stop in which the ECU slept
	heard     float64 // s, last reading of a sleeping ECU within the stop
	top       float64 // km/h, highest road speed while stopped
}

// What tells one engine stop from another.
const (
	runsRPM       = 400  // from here the engine runs (trade: misfire monitors begin at 400)
	faultZero     = 0.7  // s; zeros no longer than this between two running readings are link faults: run-down and restart take longer (trade: 0.3 to 0.9 s and 0.35 to 0.7 s)
	crankInterval = 0.27 // s between readings from which they cannot time a starter (bench)
	restartKey    = 0.43 // s of cranking above which a driver turned the key, and half the time between readings (trade: a restart by itself cranks 0.2 to 0.5; bench)
	rollingSpeed  = 3    // km/h at engine stop: above is rolling (J1979 resolution)
	keyGap        = 20   // s of a sleeping ECU within a stop: the key was off (chosen)
)

// stoppedRPM: below this the crankshaft does not turn, or is just running down.
const stoppedRPM = 60

// read takes one engine-speed reading.
func (s *stopWatch) read(t, rpm, speed, interval float64, th *Tuning) {
	if s.stopped {
		s.silent = max(s.silent, t-s.last())
		if rpm < runsRPM || t-s.last() <= th.gapOf(interval) { // else it ran again unseen, and drove off
			if speed > s.top || math.IsNaN(s.top) {
				s.top = speed
			}
			s.lastSpeed = speed
		}
	}
	s.lastT = t
	switch {
	case !s.stopped && rpm < stoppedRPM:
		s.begin(t, speed)
	case s.stopped && rpm < stoppedRPM:
		s.crank, s.zero = math.NaN(), t
	case s.stopped && rpm < runsRPM:
		s.cranked = t
		if math.IsNaN(s.crank) {
			s.crank = t
		}
	case s.stopped:
		s.end(t, interval, th)
	case rpm >= runsRPM:
		s.everRan = true
	}
}

// rolls takes road speed while the engine has not been seen to run: the stop goes on, and the
// car is not parked.
func (s *stopWatch) rolls(speed float64, th *Tuning) {
	if s.stopped && s.open.FromStart && speed > rollingSpeed {
		s.open.Kind = StopRolling
		s.stops[len(s.stops)-1] = s.open
	}
}

// sleeps takes a reading of a sleeping ECU: it has power, and the key is off.
func (s *stopWatch) sleeps(t float64) {
	if !s.stopped {
		return
	}
	s.silent = max(s.silent, t-s.last())
	s.slept = max(s.slept, t-s.lastT)
	s.heard = t
}

// last is the time of the last reading within the stop, s.
func (s *stopWatch) last() float64 { return max(s.lastT, s.heard) }

func (s *stopWatch) begin(t, speed float64) {
	s.stopped = true
	s.speed, s.top, s.crank = speed, speed, math.NaN()
	s.silent, s.slept, s.heard = 0, 0, math.Inf(-1)
	s.zero, s.cranked, s.lastT, s.lastSpeed = t, t, t, speed
	s.open = Stop{Start: seconds(t), Kind: StopOff, FromStart: !s.everRan}
	if s.everRan {
		s.open.Kind = StopAutomatic
	}
	s.stops = append(s.stops, s.open)
}

// end closes the stop: the engine runs again.
func (s *stopWatch) end(t, interval float64, th *Tuning) {
	s.stopped = false
	at := t
	if !math.IsNaN(s.crank) {
		at = s.crank
	} else if seen := max(s.zero, s.heard); t-seen > th.gapOf(interval) {
		at = seen // what followed was not
	}
	s.open.End = seconds(at)
	s.open.Kind = s.kind(t, interval, th)
	s.stops[len(s.stops)-1] = s.open
	s.everRan = true
}

// kind returns the kind of the stop that ends at t with the engine running.
func (s *stopWatch) kind(t, interval float64, th *Tuning) StopKind {
	switch {
	case s.open.FromStart:
		return s.open.Kind
	case s.speed > rollingSpeed || s.top > rollingSpeed:
		if s.cranking(t, interval, th) > restartKey+interval/2 && s.rolledOut() {
			return StopStall
		}
		return StopRolling
	case s.slept > keyGap:
		return StopOff
	case s.silent > th.Settle:
		return StopUnseen
	case s.cranking(t, interval, th) > restartKey+interval/2:
		return StopStall
	}
	return StopAutomatic
}

// cranking estimates how long the starter turned the engine, s: the mean of the least and the
// most that the readings allow. Below four readings a second it is the least: one reading with
// the starter turning does not show how long it turned.
func (s *stopWatch) cranking(t, interval float64, th *Tuning) float64 {
	if math.IsNaN(s.crank) {
		return 0
	}
	least, most := s.cranked-s.crank, t-s.zero
	if interval > crankInterval || most-least > th.Gap {
		return least // a gap of the link beside it
	}
	return (least + most) / 2
}

// rolledOut reports whether the car came to a standstill with the engine stopped.
func (s *stopWatch) rolledOut() bool { return s.lastSpeed <= 1 }

// finish closes what is open at the end of the drive, or where it was last seen.
func (s *stopWatch) finish(t, speed, interval float64, th *Tuning) {
	if !s.stopped {
		return
	}
	if t-s.last() > th.gapOf(interval) {
		s.silent, t = max(s.silent, t-s.last()), s.last()
	}
	s.open.End = seconds(t)
	switch {
	case s.open.FromStart: // as it was seen
	case speed > rollingSpeed:
		s.open.Kind = StopRolling
	case s.silent > th.Settle && s.slept <= keyGap:
		s.open.Kind = StopUnseen
	default:
		s.open.Kind = StopOff
	}
	s.stops[len(s.stops)-1] = s.open
}

// seconds turns the detector's time into a Duration.
func seconds(t float64) time.Duration { return series.Duration(t) }
