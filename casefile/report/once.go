package report

import (
	"fmt"
	"slices"

	"github.com/judder-obd/judder/casefile"
)

// copyError is why a recording counts for nothing: it is another copy of a drive, such as one that was
// cut, and no drive counts twice.
type copyError struct{ of string }

func (e *copyError) Error() string {
	return fmt.Sprintf("it began at the same moment as %s, so it is a copy of that drive", e.of)
}

// eachOnce is the evidence with every drive once: of copies the longest counts.
func eachOnce(e *casefile.Evidence) *casefile.Evidence {
	once := *e
	once.Drives = slices.Clone(e.Drives)
	for i := range once.Drives {
		for k := range once.Drives {
			one, other := &once.Drives[i], &once.Drives[k]
			if i == k || one.Err != nil || other.Err != nil || one.At().IsZero() || !one.At().Equal(other.At()) {
				continue
			}
			if one.Result.Duration < other.Result.Duration || one.Result.Duration == other.Result.Duration && i > k {
				one.Err = &copyError{other.File.Name}
			}
		}
	}
	return &once
}
