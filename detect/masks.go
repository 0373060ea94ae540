package detect

import "math"

// road is what the slow signals say: throttle or pedal, road speed, coolant, load.
type road struct {
	throttle, pedal track
	speed           track
	ratio           track // ln(median engine speed ÷ road speed), one an evaluation
	throttleRank    int   // which signal feeds throttle: the lower the better
	pedalRank       int
	speedLow        float64
	speedHigh       float64
	restSeen        bool // the foot has been off since the drive began
	throttleLow     float64
	throttleHigh    float64
	pedalLow        float64
	pedalHigh       float64
	coolant, load   reading
	hasCoolant      bool
	hasLoad         bool
	untied, steady  float64 // s of steady time with a moving ratio, and of all steady time
	steadySince     float64
	stoppedAtSpeed  int // engine stops at cruise speed: a power-split hybrid
}

func newRoad() road {
	return road{
		throttle: newTrack(512), pedal: newTrack(512), speed: newTrack(512), ratio: newTrack(64),
		throttleRank: math.MaxInt, pedalRank: math.MaxInt,
		throttleLow: math.Inf(1), throttleHigh: math.Inf(-1),
		pedalLow: math.Inf(1), pedalHigh: math.Inf(-1),
		speedLow: math.Inf(1), speedHigh: math.Inf(-1),
	}
}

// foot returns the track that says what the driver asks for and its lowest value: the
// throttle, or the pedal when there is no throttle or the throttle stands still while the
// pedal moves (a diesel's intake flap). nil when neither is read.
func (r *road) foot() (*track, float64) {
	still := r.throttleHigh-r.throttleLow < flapMove
	flap := still && (r.pedalHigh-r.pedalLow > pedalMove || r.speedHigh-r.speedLow > flapSpeed)
	switch {
	case len(r.throttle.buf) > 0 && !flap:
		return &r.throttle, r.throttleLow
	case len(r.pedal.buf) > 0:
		return &r.pedal, r.pedalLow
	}
	return nil, 0
}

// a throttle that has moved less than flapMove % while the pedal moved more than pedalMove
// % does not say what the driver asks for (judged).
const (
	flapMove  = 3
	pedalMove = 12
	flapSpeed = 25 // km/h: nor does one that stood still while road speed changed by more
)

// maskAt returns why the second that ends at t must not be judged, or Judged. Engine stops,
// gaps and reading counts are the detector's own; this is the road's part.
func (r *road) maskAt(t float64, th *thresholds) Reason {
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
	if foot, least := r.foot(); foot == nil {
		speedMove = th.speedMoveNo
	} else {
		now, _ := foot.last()
		low, high, _ := foot.spread(t - th.throttleOver)
		if r.restKnown(foot, th) && now.v < least+th.closed && !r.cruiseControl(t, foot, th) {
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

// moving says whether the driver or the car's speed moves so much that engine speed shows
// that and not the car's own scatter.
func (r *road) moving(t float64, th *thresholds) bool {
	if low, high, ok := r.speed.spread(t - th.speedOver); ok && high-low > th.learnMove {
		return true
	}
	return r.footMoves(t, th)
}

// footMoves says whether the driver's foot, as far as it is read, moves.
func (r *road) footMoves(t float64, th *thresholds) bool {
	foot, _ := r.foot()
	if foot == nil {
		return false
	}
	low, high, ok := foot.spread(t - th.throttleOver)
	return ok && high-low > th.throttleMove
}

// cold says whether coolant is known to be below the temperature at which a converter locks.
// An old reading tells nothing, and the least that J1979 can tell is a sensor's fault.
func (r *road) cold(t float64, th *thresholds) bool {
	return r.hasCoolant && t-r.coolant.t <= th.coolantStale && r.coolant.v > coolantFault && r.coolant.v < th.warm
}

// coolantFault is the lowest coolant temperature that SAE J1979 can tell, °C: no car drives
// at it.
const coolantFault = -40

// restKnown says whether the lowest reading of the foot is that of a foot that is off: it was
// off, and the foot has moved by more than what counts as closed.
func (r *road) restKnown(foot *track, th *thresholds) bool {
	moved := r.throttleHigh - r.throttleLow
	if foot == &r.pedal {
		moved = r.pedalHigh - r.pedalLow
	}
	return r.restSeen && moved >= 2*th.closed
}

// noteRest learns from a road speed whether the foot has been off by now. A recording that
// begins in a cruise has not seen the throttle closed: its lowest reading is the cruise's own.
func (r *road) noteRest(now reading, th *thresholds) {
	r.speedLow, r.speedHigh = min(r.speedLow, now.v), max(r.speedHigh, now.v)
	w := r.speed.since(now.t - th.speedOver)
	if r.restSeen || len(w) < 2 {
		return
	}
	_, high, _ := r.speed.spreadNear(now.t-th.speedOver, th.speedOver)
	slow := max(now.v, w[len(w)-2].v) // one low reading alone is a faulty link's
	r.restSeen = high < th.restSpeed || high-slow >= th.restFall
}

// cruiseControl says whether a pedal at rest is that of a car that holds its speed by
// itself: only the pedal is read, it has been at rest, the car does not slow down, and the
// engine pulls as far as its load is known.
func (r *road) cruiseControl(t float64, foot *track, th *thresholds) bool {
	if foot != &r.pedal || r.hasLoad && r.load.v < th.cruiseLoad {
		return false
	}
	low, high, _ := r.speed.spread(t - th.cruiseOver)
	_, pedal, _ := foot.spread(t - th.cruiseOver)
	return high-low <= th.cruiseMove && pedal < r.pedalLow+th.closed
}

// pull returns how hard the engine pulls, by load or else by throttle or pedal, in %, and by
// how much more than usual counts as under load; ok is false when neither is read.
func (r *road) pull(th *thresholds) (now, over float64, ok bool) {
	if r.hasLoad {
		return r.load.v, th.ladenOver, true
	}
	foot, _ := r.foot()
	if foot == nil {
		return 0, 0, false
	}
	last, ok := foot.last()
	return last.v, th.ladenThrottle, ok
}

// ratioStepped notes ln(engine speed ÷ road speed) at t and says whether it moved within
// the last second by more than a gear or lock-up step makes.
func (r *road) ratioStepped(t, medianRPM float64, th *thresholds) bool {
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

// countTied adds dt seconds of steady foot and speed to what is known about the drive line.
func (r *road) countTied(dt float64, moved bool) {
	r.steady += dt
	if moved {
		r.untied += dt
	}
}

// notTied says whether engine speed has been seen to be free of road speed.
func (r *road) notTied(th *thresholds) bool {
	return r.stoppedAtSpeed >= 2 || r.steady >= th.untiedMin && r.untied > th.untiedShare*r.steady
}
