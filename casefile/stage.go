package casefile

import (
	"strings"
	"time"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/recording"
)

// stageOf is on which side of the repair a file of the folder lies where nobody says it: after it once a
// repair is written down, unless the file itself says that it was made on an earlier day.
func (f *Folder) stageOf(kind Kind, name string) Stage {
	if recorded := f.Case.File(strings.TrimSuffix(name, session.BesideEnd)); kind == Marks && recorded != nil {
		return recorded.Stage
	}
	if f.Case.Repaired() && !f.Case.Precedes(f.madeAt(kind, name)) {
		return After
	}
	return Before
}

// madeAt is when a drive or check was made, as it says itself; zero where it does not.
func (f *Folder) madeAt(kind Kind, name string) time.Time {
	if f.plain(name) != nil {
		return time.Time{}
	}
	switch kind {
	case Drive, Replies:
		if r, err := recording.Open(f.Path(name)); err == nil {
			defer func() { _ = r.Close() }() // read only
			return r.Header().Start
		}
	case CodeCheck:
		if r, err := check.Load(f.Path(name)); err == nil {
			return r.Time
		}
	}
	return time.Time{}
}

// Precedes reports whether a time is on a day before the first repair; false where either is not known.
func (c *Case) Precedes(at time.Time) bool {
	if at.IsZero() || !c.Repaired() {
		return false
	}
	first := c.FirstRepair()
	y, m, d := first.Date()
	return at.Before(time.Date(y, m, d, 0, 0, 0, 0, first.Location()))
}

// FirstRepair is when the first repair was done or written down; zero without one.
func (c *Case) FirstRepair() (first time.Time) {
	for i := range c.Repairs {
		if done := c.Repairs[i].Done; first.IsZero() || done.Before(first) {
			first = done
		}
	}
	return first
}
