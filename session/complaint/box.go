// Package complaint is what a customer complains of: the road speed, load, engine temperature and
// gear at which the car shakes. A drive that never met them cannot show that the shake is gone.
package complaint

import (
	"fmt"
	"math"
	"strings"

	"github.com/judder-obd/judder/detect"
)

// Load is how hard the engine pulls; "" for any.
type Load string

// The loads.
const (
	Light  Load = "light"
	Medium Load = "medium"
	Heavy  Load = "heavy"
)

// Loads are the loads, the lightest first.
var Loads = []Load{Light, Medium, Heavy}

// Engine is how warm the engine is; "" for any.
type Engine string

// The temperatures.
const (
	Cold Engine = "cold"
	Warm Engine = "warm"
)

// Box is the set of operating conditions of a complaint. The zero Box is no complaint: it holds
// everything.
type Box struct {
	FromKMH float64 `json:"from_kmh"` // road speed; both 0 where it was not given
	ToKMH   float64 `json:"to_kmh"`
	Load    Load    `json:"load,omitempty"`
	Engine  Engine  `json:"engine,omitempty"`
	Gear    int     `json:"gear,omitempty"` // 0 where it was not given
}

// Point is how the car is driven at one moment, or on average over a pass.
type Point struct {
	SpeedKMH    float64 // NaN when not read
	LoadPct     float64 // calculated load; NaN when not read
	ThrottlePct float64 // NaN when not read
	CoolantC    float64 // NaN when not read
	Gear        int     // 0 when not read
}

// From these values on a load is medium or heavy. Calculated load: a light one is 15 to 60 % where
// converter clutches shudder (trade practice, no source), the upper limit is chosen. Throttle:
// halfway between light at 25, medium at 50 and heavy at 75 % (published service information).
const (
	mediumFromLoadPct     = 60
	heavyFromLoadPct      = 80
	mediumFromThrottlePct = 37.5
	heavyFromThrottlePct  = 62.5
)

// LoadOf names the load at a point, by calculated load, or by throttle where that is not read; ""
// where neither is.
func LoadOf(p Point) Load {
	value, medium, heavy := p.LoadPct, float64(mediumFromLoadPct), float64(heavyFromLoadPct)
	if math.IsNaN(value) {
		value, medium, heavy = p.ThrottlePct, mediumFromThrottlePct, heavyFromThrottlePct
	}
	switch {
	case math.IsNaN(value):
		return ""
	case value < medium:
		return Light
	case value < heavy:
		return Medium
	}
	return Heavy
}

// Contains reports whether a point is in the box. Road speed and load that the box names must be
// known; coolant and gear count only where the car gives them.
func (b Box) Contains(p Point) bool {
	if b.HasSpeed() && !(p.SpeedKMH >= b.FromKMH && p.SpeedKMH <= b.ToKMH) {
		return false
	}
	if b.Load != "" && LoadOf(p) != b.Load {
		return false
	}
	if b.Engine != "" && !math.IsNaN(p.CoolantC) && (p.CoolantC >= detect.WarmFromC) != (b.Engine == Warm) {
		return false
	}
	return b.Gear == 0 || p.Gear == 0 || p.Gear == b.Gear
}

// IsZero reports whether there is no complaint.
func (b Box) IsZero() bool { return b == Box{} }

// HasSpeed reports whether the box names a road speed.
func (b Box) HasSpeed() bool { return b.ToKMH > 0 }

// Judgeable reports whether a part of the box lies in the band of road speed in which shudder is
// looked for.
func (b Box) Judgeable() bool {
	return !b.HasSpeed() || b.FromKMH < detect.CruiseToKMH && b.ToKMH > detect.CruiseFromKMH
}

// String is the box as [Parse] reads it: "60-70 km/h light warm gear 4"; "" for no complaint.
func (b Box) String() string {
	var words []string
	if b.HasSpeed() {
		words = append(words, fmt.Sprintf("%g-%g km/h", b.FromKMH, b.ToKMH))
	}
	if b.Load != "" {
		words = append(words, string(b.Load))
	}
	if b.Engine != "" {
		words = append(words, string(b.Engine))
	}
	if b.Gear != 0 {
		words = append(words, fmt.Sprintf("gear %d", b.Gear))
	}
	return strings.Join(words, " ")
}
