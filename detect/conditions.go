package detect

import (
	"math"

	"github.com/judder-obd/judder/detect/series"
)

// conditions are the operating conditions, read from the slow signals: driver demand (throttle
// or pedal), road speed, coolant, load.
type conditions struct {
	throttle, pedal demandTrack
	speed           series.Track
	ratio           series.Track // ln(median engine speed ÷ road speed), one an evaluation
	speedLow        float64
	speedHigh       float64
	restSeen        bool // the driver's demand was at rest at least once in this drive
	coolant, load   series.Reading
	hasCoolant      bool
	hasLoad         bool
	untied, steady  float64 // s of steady time with a moving ratio, and of all steady time
	steadySince     float64
	gears           gears
	reportedGear    gearReport
	stoppedAtSpeed  int // engine stops at cruise speed: a power-split hybrid
}

func newConditions() conditions {
	return conditions{
		throttle: newDemandTrack(), pedal: newDemandTrack(), speed: series.NewTrack(512), ratio: series.NewTrack(64),
		speedLow: math.Inf(1), speedHigh: math.Inf(-1),
	}
}

// demandTrack keeps a signal of the driver's demand, of several the best-ranked one that the car
// gives, and its range over the drive.
type demandTrack struct {
	series.Track
	rank      int // of the signal; the lowest is the best
	low, high float64
}

func newDemandTrack() demandTrack {
	return demandTrack{Track: series.NewTrack(512), rank: math.MaxInt}
}

// take adds a reading of the signal of a rank, which is not worse than that of the track.
func (k *demandTrack) take(r series.Reading, rank int) {
	if rank < k.rank {
		k.Clear()
		k.rank, k.low, k.high = rank, math.Inf(1), math.Inf(-1)
	}
	k.Add(r)
	k.low, k.high = min(k.low, r.V), max(k.high, r.V)
}

// moved is the range over the drive, %.
func (k *demandTrack) moved() float64 { return k.high - k.low }

// demand returns the track of the driver's demand: the throttle; or the pedal, when there is no throttle or the throttle does not move while the pedal or road speed
// does (a diesel's intake flap). nil when neither is read.
func (r *conditions) demand() *demandTrack {
	still := r.throttle.moved() < flapMove
	flap := still && (r.pedal.moved() > pedalMove || r.speedHigh-r.speedLow > flapSpeed)
	switch {
	case len(r.throttle.All) > 0 && !flap:
		return &r.throttle
	case len(r.pedal.All) > 0:
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
func (r *conditions) maskAt(t float64, th *Tuning) Reason {
	v, ok := r.speed.Last()
	if !ok || t-v.T > th.Settle {
		return NoRoadSpeed
	}
	if v.V < CruiseFromKMH || v.V > CruiseToKMH {
		return OutsideBand
	}
	if r.closed(t, th) {
		return ClosedThrottle
	}
	if r.demandMoves(t, th) {
		return ThrottleMoving
	}
	speedMove := th.SpeedMove
	if r.demand() == nil {
		speedMove = th.SpeedMove / noDemandMore
	}
	if low, high, _ := r.speed.Spread(t - th.SpeedOver); high-low > speedMove {
		return SpeedChanging
	}
	return Judged
}

// demandMoves reports whether the driver's demand is read and moves.
func (r *conditions) demandMoves(t float64, th *Tuning) bool {
	demand := r.demand()
	if demand == nil {
		return false
	}
	low, high, ok := demand.Spread(t - th.DemandOver)
	return ok && high-low > th.DemandMove
}

// restKnown reports whether the lowest reading of the driver's demand is that of demand at rest:
// it was at rest once, and has moved by more than counts as closed.
func (r *conditions) restKnown(demand *demandTrack, th *Tuning) bool {
	return r.restSeen && demand.moved() >= 2*th.Closed
}

// noteRest learns from road speed whether the driver's demand was at rest by now. In a recording
// that begins in a cruise the throttle was never closed: its lowest reading is the cruise's own.
func (r *conditions) noteRest(now series.Reading, th *Tuning) {
	r.speedLow, r.speedHigh = min(r.speedLow, now.V), max(r.speedHigh, now.V)
	w := r.speed.Since(now.T - th.SpeedOver)
	if r.restSeen || len(w) < 2 {
		return
	}
	_, high, _ := r.speed.SpreadNear(now.T-th.SpeedOver, th.SpeedOver)
	slow := max(now.V, w[len(w)-2].V) // one low reading alone is a faulty link's
	r.restSeen = high < restSpeed || high-slow >= restFall
}

// cruiseControl reports whether the car holds its speed by itself: only the pedal is read, it is at
// rest, and the engine pulls by its load or, where that is not read, the car does not slow down.
func (r *conditions) cruiseControl(t float64, demand *demandTrack, th *Tuning) bool {
	if demand != &r.pedal {
		return false
	}
	held := cruiseMove
	if r.loadKnown(t, th) {
		if r.load.V < cruiseLoad {
			return false
		}
		held = th.SpeedMove // over hill and dale it swings about what was set
	}
	low, high, _ := r.speed.Spread(t - cruiseOver)
	_, pedal, _ := demand.Spread(t - cruiseOver)
	return high-low <= held && pedal < r.pedal.low+th.Closed
}

// loadKnown reports whether the engine load was read lately.
func (r *conditions) loadKnown(t float64, th *Tuning) bool {
	return r.hasLoad && t-r.load.T <= th.Settle
}

// pull returns how hard the engine pulls, %: its load, or where that is not read the driver's
// demand; 0 where neither is.
func (r *conditions) pull(t float64, th *Tuning) float64 {
	if r.loadKnown(t, th) {
		return r.load.V
	}
	if demand := r.demand(); demand != nil {
		last, _ := demand.Last()
		return last.V
	}
	return 0
}

// closed reports whether the driver's demand is at rest: the car coasts or brakes.
func (r *conditions) closed(t float64, th *Tuning) bool {
	demand := r.demand()
	if demand == nil {
		return false
	}
	now, _ := demand.Last()
	return r.restKnown(demand, th) && now.V < demand.low+th.Closed && !r.cruiseControl(t, demand, th)
}

// ratioStepped notes ln(engine speed ÷ road speed) at t and reports whether it moved within the
// last second by as much as a step of gear or lock-up.
func (r *conditions) ratioStepped(t, medianRPM float64, th *Tuning) bool {
	v, ok := r.speed.Last()
	if !ok || v.V < 1 || medianRPM < 1 {
		return false
	}
	r.ratio.Add(series.Reading{T: t, V: math.Log(medianRPM / v.V)})
	w := r.ratio.Since(t - 1 - 1e-9)
	now := w[len(w)-1].V
	for _, x := range w {
		if math.Abs(now-x.V) > th.RatioMove {
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
func (r *conditions) notTied(th *Tuning) bool {
	return r.stoppedAtSpeed >= 2 || r.steady >= untiedLeast && r.untied > untiedShare*r.steady
}

const (
	// Below restSpeed km/h, or falling by restFall km/h over SpeedOver, driver demand was at rest
	// once, so that its lowest reading means something (common practice, no source).
	restSpeed = 5
	restFall  = 3
	// A pedal at rest for cruiseOver s while road speed holds within cruiseMove km/h means cruise
	// control (chosen: coasting in gear loses 1 to 2 km/h a second), or within SpeedMove while load is
	// cruiseLoad and more.
	cruiseOver = 4
	cruiseMove = 1.5
	cruiseLoad = 12 // % load, below it the engine does not pull (chosen)
	// untiedShare of steady time with a moving ratio says "not tied" (real).
	untiedShare = 0.25
	// untiedLeast is how many s of steady time say whether the ratio moves (chosen).
	untiedLeast = 60
)
