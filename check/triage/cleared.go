package triage

import (
	"fmt"
	"strings"

	"github.com/judder-obd/judder/check"
)

// clearedKMLittle is the distance since clearing below which little can be concluded: self-
// tests need one or two drives (common practice, no source).
const (
	clearedKMLittle      = 80
	clearedMinutesLittle = 60 // the same where a car counts no distance
)

// openUsual is how many self-tests may be open on a car that was driven since (common practice,
// no source).
const openUsual = 2

// cleared is for codes cleared a short while ago, and for self-tests that have not run.
func cleared(r *check.Report, _ []code) []check.Advice {
	reported, km := false, 0.0
	var open []string
	var who []*check.ECU
	for i := range r.ECUs {
		e := &r.ECUs[i]
		if c := e.Cleared; c != nil {
			if ago := lately(c); ago != "" {
				return one(advise(RuleClearedLately, nil, []*check.ECU{e}, "{ago}", ago))
			}
			if reported = reported || c.KM != nil || c.Minutes != nil; c.KM != nil {
				km = max(km, *c.KM)
			}
		}
		if n := e.TestsOpen(); n > 0 && (e.Cleared == nil || n > openUsual) {
			open, who = append(open, fmt.Sprintf("%d of %d (%s)", n, len(e.Readiness), e.Called())), append(who, e)
		}
	}
	if open == nil {
		return nil
	}
	text := ""
	switch {
	case !reported:
		text = ", and this car does not report how far or how long ago codes were cleared"
	case km > 0:
		text = fmt.Sprintf("; that these have not run within %s km may be a fault in itself", check.AtLeast(km, check.MostCleared))
	}
	return one(advise(RuleTestsOpen, nil, who, "{tests}", strings.Join(open, ", "), "{km}", text))
}

// lately is how far or long ago codes were cleared; "" when it was not a short while, or nothing
// is known.
func lately(c *check.Cleared) string {
	switch {
	case c.KM != nil && *c.KM < 1:
		return "less than 1 km"
	case c.KM != nil && *c.KM < clearedKMLittle:
		return fmt.Sprintf("%.0f km", *c.KM)
	case c.KM == nil && c.Minutes != nil && *c.Minutes < clearedMinutesLittle:
		return fmt.Sprintf("%.0f min of running", *c.Minutes)
	}
	return ""
}
