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
	return incident{at: m.At, what: "felt it", text: outcomeWords(outcomeOf(m.At, s)), weight: moodWatch}, true
}

// outcome is what became of a felt mark.
type outcome uint8

const (
	outcomeOpen   outcome = iota // too early to say
	outcomeSeen                  // with shudder
	outcomeSteady                // engine speed was steady
	outcomeDark                  // shudder could not show then
)

// outcomeOf is what became of a mark, and where shudder could not show the reason.
func outcomeOf(at time.Duration, s *session.Snapshot) (outcome, detect.Reason) {
	for i := range s.Events {
		if about(session.Mark{At: at}, &s.Events[i]) {
			return outcomeSeen, detect.Judged
		}
	}
	for _, st := range s.Stops {
		if at >= st.Start && (at < st.End || st.End <= st.Start) {
			return outcomeDark, detect.EngineStopped
		}
	}
	sp, ok := spanAt(s.Spans, at)
	if !ok { // the newest: what holds now
		sp.Reason = s.Detector.Reason
	}
	switch {
	case sp.Reason != detect.Judged:
		return outcomeDark, sp.Reason
	case s.Now < at+decidedAfter && s.Phase != session.Finished:
		return outcomeOpen, detect.Judged
	}
	return outcomeSteady, detect.Judged
}

// outcomeWords are the words of a mark's outcome: the same in the answer to the key and in its row.
func outcomeWords(o outcome, r detect.Reason) string {
	switch o {
	case outcomeSeen:
		return "shudder seen"
	case outcomeSteady:
		return "engine speed steady"
	case outcomeDark:
		return "could not show then: " + r.Words()
	}
	return "wait: not decided yet"
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
