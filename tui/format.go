package tui

import (
	"math"
	"strconv"

	"github.com/judder-obd/judder/session"
)

// dash is shown for what is not known.
const dash = "–"

// decimals is how many digits after the point a unit is shown with; a unit not listed gets
// two.
var decimals = map[string]int{
	"rpm": 0, "km/h": 0, "%": 1, "°C": 0, "V": 1, "kPa": 0, "s": 0, "min": 0, "km": 0,
	"g/s": 1, "°": 1, "Hz": 1, "": 0, "L/h": 1, "N·m": 0, "Pa": 0, "mA": 1,
}

// amount writes v as its unit asks; a dash when v is not a number that can be shown.
func amount(v float64, unit string) string {
	digits, known := decimals[unit]
	if !known {
		digits = 2
	}
	return fixed(v, digits)
}

// digitsOf is how many digits after the point a lane is shown with: as its unit asks, and for a
// pure number, such as a ratio, as fine as its steps are.
func digitsOf(l *session.Lane) int {
	digits, known := decimals[l.Unit]
	switch {
	case !known:
		return 2
	case l.Unit != "" || !(l.Step > 0) || l.Step >= 1:
		return digits
	}
	return min(int(math.Ceil(-math.Log10(l.Step)-1e-9)), 2)
}

// fixed writes v with so many digits after the point; a dash when v is not a number that can
// be shown.
func fixed(v float64, digits int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return dash
	}
	if math.Abs(v) >= 1e6 {
		return strconv.FormatFloat(v, 'g', 3, 64)
	}
	s := strconv.FormatFloat(v, 'f', digits, 64)
	if v < 0 && math.Abs(v) < 0.5*math.Pow(10, -float64(digits)) {
		return s[1:] // no "-0"
	}
	return s
}

// quantity is amount with its unit.
func quantity(v float64, unit string) string {
	if unit == "" {
		return amount(v, unit)
	}
	return amount(v, unit) + " " + unit
}

// positive is quantity for a value that is not known when it is zero or less.
func positive(v float64, unit string) string {
	if !(v > 0) {
		return dash + " " + unit
	}
	return quantity(v, unit)
}

// laneRate is how often a lane's value comes, or, where the car repeats it, how often a new
// one does.
func laneRate(l *session.Lane) string {
	if l.Repeats {
		return strconv.FormatFloat(l.Rate, 'f', 0, 64) + "new/s"
	}
	return rate(l.Rate)
}

// rate writes readings a second: "21/s", "0.1/s".
func rate(r float64) string {
	switch {
	case !(r > 0) || math.IsInf(r, 0):
		return dash + "/s"
	case r < 9.95:
		return strconv.FormatFloat(r, 'f', 1, 64) + "/s"
	}
	return strconv.FormatFloat(r, 'f', 0, 64) + "/s"
}
