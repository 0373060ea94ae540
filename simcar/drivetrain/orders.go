package drivetrain

import "math"

// The frequencies of what turns, f = n·rpm/60 for order n (arithmetic; the trade teaches
// Hz = rpm/60).

// HalfOrderHz returns the frequency of one misfiring cylinder of a four-stroke engine.
func HalfOrderHz(rpm float64) float64 { return rpm / 120 }

// FiringHz returns how often a four-stroke engine fires.
func FiringHz(rpm float64, cylinders int) float64 { return HalfOrderHz(rpm) * float64(cylinders) }

// TyreHz returns the turns of a wheel a second, its first order.
func (c *Car) TyreHz(kmh float64) float64 { return kmh / 3.6 / (2 * math.Pi * c.TyreRadiusM) }

// PropshaftHz returns the turns of the propeller shaft a second, with the final drive behind
// it. A joint swings twice a turn.
func (c *Car) PropshaftHz(kmh float64) float64 { return c.TyreHz(kmh) * c.FinalDrive }
