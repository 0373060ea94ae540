package drivetrain

import "math/rand/v2"

// FaultKind names what swings engine speed; some are no fault of the car at all.
type FaultKind string

// The kinds of faults.
const (
	FaultGrabRelease FaultKind = "grab-release"
	FaultSlipHunting FaultKind = "slip hunting"
	FaultApply       FaultKind = "apply shudder"
	FaultFriction    FaultKind = "friction shudder"
	FaultMisfire     FaultKind = "misfire"
	FaultLoadMisfire FaultKind = "load misfire"
	FaultSurge       FaultKind = "surge"
	FaultLockCycling FaultKind = "lock-up cycling"
	FaultGearHunting FaultKind = "gear hunting"
	FaultRoughRoad   FaultKind = "rough road"
	FaultSlipControl FaultKind = "slip control"
	FaultAccessory   FaultKind = "accessory"

	FaultSawGrab      FaultKind = "saw grab"      // lets go at once, grabs slowly
	FaultShortGrab    FaultKind = "short grab"    // bursts under three cycles
	FaultBigGrab      FaultKind = "big grab"      // up to 600 rpm
	FaultDriftGrab    FaultKind = "drifting grab" // frequency runs away, swings grow and fade slowly
	FaultPartMisfire  FaultKind = "part-load misfire"
	FaultColdMisfire  FaultKind = "cold misfire"
	FaultTrainMisfire FaultKind = "misfire in trains" // under load, a few in a row, then none
	FaultRingMisfire  FaultKind = "ringing misfire"   // under load, in a drive line that rings long
	FaultColdRough    FaultKind = "cold rough"        // no fault: a cold engine that burns unevenly
	FaultLash         FaultKind = "lash"              // no fault: single blows through the drive line
	FaultTyre         FaultKind = "tyre"              // first order of a wheel
)

// Fault is one disturbance. Zero fields are drawn from the seed.
type Fault struct {
	Kind         FaultKind
	SwingRPM     float64 // peak to peak; shudder: the usual burst, each differs by some tens of percent
	Hz           float64 // usual frequency; it drifts by 10 to 30 %
	EverySeconds float64 // mean time between bursts while conditions hold
	Always       bool    // no bursts: on whenever conditions hold
	Passes       float64 // share of the pieces of the drive in which it may come; 0 means all
	MissShare    float64 // misfire: share of the bad cylinder's combustions that fail; 0 means 0.3 to 1
	Cold         bool    // shudder: it comes with a cold engine too
}

// effect builds what the fault does. It panics on a kind that does not exist.
func (f Fault) effect(w *world, rng *rand.Rand) effect {
	if p, ok := swingProfiles[f.Kind]; ok {
		return newSwing(f, p, rng)
	}
	switch f.Kind {
	case FaultMisfire, FaultLoadMisfire, FaultPartMisfire, FaultColdMisfire, FaultTrainMisfire, FaultRingMisfire, FaultColdRough:
		return newMisfire(f, &w.car, rng)
	case FaultLash:
		return &lash{rng: rng, wait: within(rng, 15, 40)}
	case FaultTyre:
		return &tyre{rng: rng, amplitude: within(rng, 2, 8)}
	case FaultRoughRoad:
		return &roughRoad{fault: f, rng: rng, wait: within(rng, 15, 40)}
	case FaultLockCycling, FaultGearHunting:
		return &toggling{fault: f, rng: rng, wait: within(rng, 3, 10)}
	case FaultAccessory:
		return &accessory{rng: rng, wait: within(rng, 5, 20), nm: within(rng, 8, 22)}
	}
	panic("drivetrain: no such fault: " + string(f.Kind))
}

// or returns x, or when x is 0 a draw from the range.
func or(x float64, r *rand.Rand, low, high float64) float64 {
	if x != 0 {
		return x
	}
	return within(r, low, high)
}
