package tui

import (
	"fmt"
	"strings"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

func feltWords(e *detect.Event, marks []session.Mark) string {
	for i := range marks {
		m := &marks[i]
		if !m.About(e) {
			continue
		}
		d := (m.At - e.Start).Seconds()
		if d < 0 {
			return fmt.Sprintf("felt %.1f s before", -d) + madeWords(m)
		}
		return fmt.Sprintf("felt %.1f s later", d) + madeWords(m)
	}
	return ""
}

// markRow is the row of a mark, and whether it needs one: a felt mark near an event is
// in the event's own row.
func markRow(m session.Mark) (incident, bool) {
	if m.Note != "" {
		return incident{at: m.At, what: "note", text: prose.Clean(strings.TrimSpace(m.Note))}, true
	}
	if m.Outcome == session.Seen {
		return incident{}, false
	}
	return incident{at: m.At, what: "mark", text: markWords(&m), weight: moodWatch}, true
}

// markWords are what became of a felt mark, and how it was made: the same in the answer to the key and in
// its row.
func markWords(m *session.Mark) string {
	return m.Answer() + madeWords(m)
}

// madeWords are how a felt mark was made.
func madeWords(m *session.Mark) string {
	text := ""
	switch m.Strength {
	case 2:
		text = ", twice"
	case 3:
		text = ", three times"
	}
	const shown = 100 * time.Millisecond // less is none when it is written
	if m.Lasted >= shown {
		text += ", for " + prose.Duration(m.Lasted)
	}
	if m.Blind {
		text += ", blind"
	}
	return text
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
