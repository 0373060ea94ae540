package cli

import (
	"fmt"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/compare"
)

// saveAfter keeps the check after a clearing, with the time of the one before: both were made
// over one connection, so of one car, whatever is masked. It never overwrites.
func saveAfter(path string, before, after *check.Report) error {
	after.SameConnectionAs = before.Time
	if err := check.Save(path, after); err != nil {
		return fmt.Errorf("%w; the code check after the clearing is not kept; run judder check again", err)
	}
	return nil
}

// compareChecks puts two checks side by side; with the one rule for whether they are of the same
// car: made over one connection, or by their identification numbers.
func compareChecks(before, after *check.Report, oneConnection bool) *compare.Comparison {
	c := compare.Checks(before, after)
	if oneConnection {
		c.SameConnection()
	}
	return c
}

// pairOf reports whether one of two kept checks was made over the connection of the other.
func pairOf(a, b *check.Report) bool { return madeAfter(a, b) || madeAfter(b, a) }

func madeAfter(r, before *check.Report) bool {
	return !r.SameConnectionAs.IsZero() && r.SameConnectionAs.Equal(before.Time)
}
