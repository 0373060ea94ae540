package tui

import (
	"time"

	"github.com/judder-obd/judder/session"
)

// bell decides when the terminal's bell rings: once for an event of shudder, when its alarm
// begins or, where no alarm was seen, when it is listed.
type bell struct {
	on      bool
	alarmed bool
	until   time.Duration // what began before this has been rung for
	primed  bool
}

// quietAfter is how long after an alarm a listed event counts as the same.
const quietAfter = 3 * time.Second

// due reports whether to ring for what is new in the snapshot.
func (b *bell) due(s *session.Snapshot) bool {
	fresh := false
	if n := len(s.Events); n > 0 && s.Events[n-1].Start > b.until {
		fresh = true
		b.until = s.Events[n-1].End
	}
	if s.Detector.Alarmed {
		fresh = fresh || !b.alarmed && s.Now > b.until
		b.until = s.Now + quietAfter
	}
	b.alarmed = s.Detector.Alarmed
	first := !b.primed
	b.primed = true
	return fresh && b.on && !first
}
