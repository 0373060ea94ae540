package drivetrain

import "math"

// heldRatio is the ratio at which a gearbox without steps stays in a steady cruise, as
// belt gearboxes with steps by software and power-split hybrids on the motorway do: for
// minutes such a car looks like one with fixed gears.
type heldRatio struct {
	ratio, left float64 // left: seconds to hold it
}

// The ratio is let go when the load wants one this far off (logarithm); 3 s pass before
// another is held (judgement).
const (
	heldMost    = 0.22
	heldBetween = 3
)

// take returns the ratio to take where the load wants another one.
func (h *heldRatio) take(v *vehicle, want float64) float64 {
	if v.car.HoldSeconds == 0 {
		return want
	}
	h.left -= slowDT
	steady := v.driver.reached && v.speed > 11 && v.engine.command > 0.02
	if h.ratio > 0 && (h.left <= 0 || !steady || math.Abs(math.Log(want/h.ratio)) > heldMost) {
		h.ratio, h.left = 0, heldBetween
	}
	if h.ratio == 0 && h.left <= 0 && steady {
		h.ratio, h.left = want, v.car.HoldSeconds*within(v.driver.rng, 0.5, 1.5)
	}
	if h.ratio > 0 {
		return h.ratio
	}
	return want
}

// lockFrom returns the coolant temperature from which the clutch applies: about 54 °C (a
// maker's road-test procedure, service information 1995), lower in later designs.
func (c *Car) lockFrom() float64 {
	if c.LockFromC > 0 {
		return c.LockFromC
	}
	return 54
}
