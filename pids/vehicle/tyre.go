package vehicle

import (
	"math"
	"regexp"
	"strconv"
)

// tyreParts are width in mm, height in % of it, and rim in inches.
var tyreParts = regexp.MustCompile(`^(\d{3})/(\d{2})Z?R(\d{2})$`)

const (
	mmAnInch = 25.4
	// rollingShare is how much of its drawn diameter a tyre rolls on under load: 0.96 to 0.97
	// (from memory). A worn tyre has 1 to 2 % less; see TyreTolerance.
	rollingShare = 0.96
)

// TyreTolerance is by what share the true circumference may differ from
// [Driveline.TyreCircumference]: make, wear and pressure (common practice, no source).
const TyreTolerance = 0.04

// TyreCircumference is how far the car rolls for one turn of a wheel, m; 0 when the tyre is
// not known. "205/55R16" is 205 mm wide, 55 % of that high, on a rim of 16 inches.
func (d *Driveline) TyreCircumference() float64 {
	m := tyreParts.FindStringSubmatch(d.Tyre)
	if m == nil {
		return 0
	}
	var n [3]float64
	for i := range n {
		n[i], _ = strconv.ParseFloat(m[i+1], 64) // digits: always a number
	}
	width, height, rim := n[0], n[1], n[2]
	return math.Pi * rollingShare * (rim*mmAnInch + 2*width*height/100) / 1000
}
