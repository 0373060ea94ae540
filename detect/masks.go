package detect

import "math"

// conditions are the operating conditions, read from the slow signals: driver demand (throttle
// or pedal), road speed, coolant, load.
type conditions struct {
	throttle, pedal demandTrack
	speed           track
	ratio           track // ln(median engine speed ÷ road speed), one an evaluation
	speedLow        float64
	speedHigh       float64
	restSeen        bool // the driver's demand was at rest at least once in this drive
	coolant, load   reading
	hasCoolant      bool
	hasLoad         bool
	untied, steady  float64 // s of steady time with a moving ratio, and of all steady time
	steadySince     float64
	stoppedAtSpeed  int // engine stops at cruise speed: a power-split hybrid
}

func newConditions() conditions {
	return conditions{
		throttle: newDemandTrack(), pedal: newDemandTrack(), speed: newTrack(512), ratio: newTrack(64),
		speedLow: math.Inf(1), speedHigh: math.Inf(-1),
	}
}

// demandTrack keeps a signal of the driver's demand, of several the best-ranked one that the car
// gives, and its range over the drive.
type demandTrack struct {
	track
	rank      int // of the signal; the lowest is the best
	low, high float64
}

func newDemandTrack() demandTrack {
	return demandTrack{track: newTrack(512), rank: math.MaxInt, low: math.Inf(1), high: math.Inf(-1)}
}

// take adds a reading of the signal of a rank, which is not worse than that of the track.
func (k *demandTrack) take(r reading, rank int) {
	if rank < k.rank {
		k.clear()
		k.rank, k.low, k.high = rank, math.Inf(1), math.Inf(-1)
	}
	k.add(r)
	k.low, k.high = min(k.low, r.v), max(k.high, r.v)
}

// moved is the range over the drive, %; below 0 before the first reading.
func (k *demandTrack) moved() float64 { return k.high - k.low }

// demand returns the track of the driver's demand: the throttle; or the pedal, when there is no throttle or the throttle does not move while the pedal or road speed
// does (a diesel's intake flap). nil when neither is read.
func (r *conditions) demand() *demandTrack {
	still := r.throttle.moved() < flapMove
	flap := still && (r.pedal.moved() > pedalMove || r.speedHigh-r.speedLow > flapSpeed)
	switch {
	case len(r.throttle.buf) > 0 && !flap:
		return &r.throttle
	case len(r.pedal.buf) > 0:
		return &r.pedal
	}
	return nil
}

// A throttle is a diesel's intake flap, and not the driver's demand, when it moved less than
// flapMove % while the pedal moved more than pedalMove %, or road speed changed by more than
// flapSpeed (chosen).
const (
	flapMove  = 3
	pedalMove = 12
	flapSpeed = 25 // km/h
)

// maskAt returns why the second that ends at t must not be judged, or Judged, as far as the
// operating conditions go. Engine stops, gaps and counts of readings are the detector's part.
func (r *conditions) maskAt(t float64, th *thresholds) Reason {
	v, ok := r.speed.last()
	if !ok || t-v.t > th.stale {
		return NoRoadSpeed
	}
	if r.cold(t, th) {
		return Cold
	}
	if v.v < th.speedLow || v.v > th.speedHigh {
		return OutsideBand
	}
	speedMove := th.speedMove
	if demand := r.demand(); demand == nil {
		speedMove = th.speedMoveNo
	} else {
		now, _ := demand.last()
		low, high, _ := demand.spread(t - th.throttleOver)
		if r.restKnown(demand, th) && now.v < demand.low+th.closed && !r.cruiseControl(t, demand, th) {
			return ClosedThrottle
		}
		if high-low > th.throttleMove {
			return ThrottleMoving
		}
	}
	if low, high, _ := r.speed.spread(t - th.speedOver); high-low > speedMove {
		return SpeedChanging
	}
	return Judged
}

// moving reports whether driver demand or road speed moves so much that engine speed shows that
// and not the car's own scatter.
func (r *conditions) moving(t float64, th *thresholds) bool {
	if low, high, ok := r.speed.spread(t - th.speedOver); ok && high-low > th.learnMove {
		return true
	}
	return r.demandMoves(t, th)
}

// demandMoves reports whether the driver's demand is read and moves.
func (r *conditions) demandMoves(t float64, th *thresholds) bool {
	demand := r.demand()
	if demand == nil {
		return false
	}
	low, high, ok := demand.spread(t - th.throttleOver)
	return ok && high-low > th.throttleMove
}

// cold reports whether coolant is known to be below the temperature at which a converter locks.
// An old reading does not count, nor does the lowest value of SAE J1979: it is a sensor's fault.
func (r *conditions) cold(t float64, th *thresholds) bool {
	return r.hasCoolant && t-r.coolant.t <= th.coolantStale && r.coolant.v > coolantFault && r.coolant.v < th.warm
}

// coolantFault is the lowest coolant temperature of SAE J1979, °C: no car drives at it.
const coolantFault = -40

// restKnown reports whether the lowest reading of the driver's demand is that of demand at rest:
// it was at rest once, and has moved by more than counts as closed.
func (r *conditions) restKnown(demand *demandTrack, th *thresholds) bool {
	return r.restSeen && demand.moved() >= 2*th.closed
}

// noteRest learns from road speed whether the driver's demand was at rest by now. In a recording
// that begins in a cruise the throttle was never closed: its lowest reading is the cruise's own.
func (r *conditions) noteRest(now reading, th *thresholds) {
	r.speedLow, r.speedHigh = min(r.speedLow, now.v), max(r.speedHigh, now.v)
	w := r.speed.since(now.t - th.speedOver)
	if r.restSeen || len(w) < 2 {
		return
	}
	_, high, _ := r.speed.spreadNear(now.t-th.speedOver, th.speedOver)
	slow := max(now.v, w[len(w)-2].v) // one low reading alone is a faulty link's
	r.restSeen = high < th.restSpeed || high-slow >= th.restFall
}

// cruiseControl reports whether the car holds its speed by itself: only the pedal is read, it is
// at rest, the car does not slow down, and the load, if known, is that of an engine that pulls.
func (r *conditions) cruiseControl(t float64, demand *demandTrack, th *thresholds) bool {
	if demand != &r.pedal || r.hasLoad && r.load.v < th.cruiseLoad {
		return false
	}
	low, high, _ := r.speed.spread(t - th.cruiseOver)
	_, pedal, _ := demand.spread(t - th.cruiseOver)
	return high-low <= th.cruiseMove && pedal < r.pedal.low+th.closed
}

// pull returns how hard the engine pulls, %, by load or else by driver demand, and how much more
// than usual counts as under load; ok is false when neither is read.
func (r *conditions) pull(th *thresholds) (now, over float64, ok bool) {
	if r.hasLoad {
		return r.load.v, th.ladenOver, true
	}
	demand := r.demand()
	if demand == nil {
		return 0, 0, false
	}
	last, ok := demand.last()
	return last.v, th.ladenThrottle, ok
}

// ratioStepped notes ln(engine speed ÷ road speed) at t and reports whether it moved within the
// last second by as much as a step of gear or lock-up.
func (r *conditions) ratioStepped(t, medianRPM float64, th *thresholds) bool {
	v, ok := r.speed.last()
	if !ok || v.v < 1 || medianRPM < 1 {
		return false
	}
	r.ratio.add(reading{t, math.Log(medianRPM / v.v)})
	w := r.ratio.since(t - th.ratioOver - 1e-9)
	now := w[len(w)-1].v
	for _, x := range w {
		if math.Abs(now-x.v) > th.ratioMove {
			return true
		}
	}
	return false
}

// countTied adds dt seconds of steady demand and speed to what is known about the driveline.
func (r *conditions) countTied(dt float64, moved bool) {
	r.steady += dt
	if moved {
		r.untied += dt
	}
}

// notTied reports whether engine speed was seen to change freely of road speed.
func (r *conditions) notTied(th *thresholds) bool {
	return r.stoppedAtSpeed >= 2 || r.steady >= th.untiedMin && r.untied > th.untiedShare*r.steady
}
