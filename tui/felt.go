package tui

import (
	"fmt"
	"strings"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// How near a felt mark must be to an event to be about it: a person presses late, seldom
// early. Common practice, no source.
const (
	feltBefore = time.Second
	feltAfter  = 5 * time.Second
)

// decidedAfter is how long after a moment shudder at it may still be listed.
const decidedAfter = 4 * time.Second

// about reports whether a mark is about an event.
func about(m session.Mark, e *detect.Event) bool {
	return m.Note == "" && m.At >= e.Start-feltBefore && m.At <= e.End+feltAfter
}

func feltWords(e *detect.Event, marks []session.Mark) string {
	for _, m := range marks {
		if !about(m, e) {
			continue
		}
		d := (m.At - e.Start).Seconds()
		if d < 0 {
			return fmt.Sprintf("felt %.1f s before", -d)
		}
		return fmt.Sprintf("felt %.1f s later", d)
	}
	return ""
}

// markRow is the row of a mark, and whether it needs one: a felt mark near an event is
// in the event's own row.
func markRow(m session.Mark, s *session.Snapshot) (incident, bool) {
	if m.Note != "" {
		return incident{at: m.At, what: "note", text: prose.Clean(strings.TrimSpace(m.Note))}, true
	}
	for i := range s.Events {
		if about(m, &s.Events[i]) {
			return incident{}, false
		}
	}
	return incident{at: m.At, what: "felt it", text: feltAlone(m.At, s), weight: moodWatch}, true
}

// feltAlone is what can be said of a felt mark without shudder near it: that shudder could not show
// then, that it is too early to say, or that engine speed was steady.
func feltAlone(at time.Duration, s *session.Snapshot) string {
	for _, st := range s.Stops {
		if at >= st.Start && (at < st.End || st.End <= st.Start) {
			return "could not show then: " + detect.EngineStopped.Words()
		}
	}
	sp, ok := spanAt(s.Spans, at)
	if !ok { // the newest: what holds now
		sp.Reason = s.Detector.Reason
	}
	if sp.Reason != detect.Judged {
		return "could not show then: " + sp.Reason.Words()
	}
	if s.Now < at+decidedAfter && s.Phase != session.Finished {
		return "wait: not decided yet"
	}
	return "engine speed steady"
}

// countFelt is how many felt marks there are.
func countFelt(marks []session.Mark) int {
	n := 0
	for _, m := range marks {
		if m.Note == "" {
			n++
		}
	}
	return n
}
