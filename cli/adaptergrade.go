package cli

import (
	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/obd/inquiry"
)

// grade is what an adapter is good for with this car.
type grade uint8

const (
	gradeGood grade = iota
	gradeStrong
	gradeSlow
	gradeNoSpeed
	gradeMixed
)

// gradeWords are the grades: the code in JSON, and the line.
var gradeWords = map[grade]struct{ code, text string }{
	gradeGood:    {"good", "good: can find shudder and clear a car"},
	gradeStrong:  {"strong shudder only", "strong shudder only: too few readings to clear a car"},
	gradeSlow:    {"too slow", "too slow: too few readings to see shudder"},
	gradeNoSpeed: {"no engine speed", "no engine speed: this car reports none, so shudder cannot be seen"},
	gradeMixed:   {"mixed replies", "not for this car: it has several control units, and the adapter hides which one answers; use another adapter"},
}

// gradeOf grades by the new values a second: a car that renews engine speed slowly is no better read
// often.
func gradeOf(x *inquiry.Examination) grade {
	useful := x.PerSecond
	if renewedSlowly(x) {
		useful = x.Renewed
	}
	switch {
	case x.Mixed:
		return gradeMixed
	case x.PerSecond == 0:
		return gradeNoSpeed
	case useful >= detect.EnoughForNone:
		return gradeGood
	case useful >= detect.EnoughAtAll:
		return gradeStrong
	}
	return gradeSlow
}

// renewedSlowly reports whether the car renews engine speed clearly less often than it is read. A
// running engine never keeps its speed to the quarter of a turn for long.
func renewedSlowly(x *inquiry.Examination) bool {
	const clearly = 0.6
	return x.Renewed > 0 && x.Renewed < clearly*x.PerSecond
}
