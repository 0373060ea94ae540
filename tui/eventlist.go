package tui

import (
	"fmt"
	"slices"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// eventList is the list of what happened in a whole recording, to pick from.
type eventList struct {
	rows  []incident // the earliest first
	at    int
	first int // row at the top
}

// openEvents turns to the list, with the row nearest before the cursor chosen.
func openEvents(m *model) tea.Cmd {
	l := &m.events
	l.rows = wholeIncidents(l.rows, &m.snap)
	l.at = 0
	for i := range l.rows {
		if l.rows[i].at <= m.cursor {
			l.at = i
		}
	}
	m.turnTo(pageEvents)
	return nil
}

// wholeIncidents lists what happened in the whole recording, before and after the cursor.
func wholeIncidents(dst []incident, s *session.Snapshot) []incident {
	r := &s.Replay
	whole := session.Snapshot{Now: r.Length, Phase: session.Finished, Events: r.Events, Stops: r.Stops, Observations: r.Observations,
		Slip: r.Slip, Losses: r.Losses, Checks: r.Checks, Missing: r.Missing, Steps: r.Steps, Marks: r.Marks}
	dst = incidents(dst, &whole, 1<<20)
	slices.Reverse(dst)
	return dst
}

// press moves in the list and picks from it; it reports whether the key was one that does.
func (l *eventList) press(k tea.KeyMsg, m *model) (tea.Cmd, bool) {
	if k.String() == "enter" {
		m.page = pageDrive
		if l.at < len(l.rows) {
			m.bench.span = 0
			return m.seek(l.rows[l.at].at), true
		}
		return nil, true
	}
	var ok bool
	l.at, ok = moved(k, l.at, max(m.h-eventsFrame, 1), len(l.rows)-1)
	return nil, ok
}

// eventsFrame is how many lines of the page are not rows.
const eventsFrame = 6

func drawEvents(s *sheet, m *model) {
	l := &m.events
	m.drawHeader(s)
	m.drawRuler(s)
	m.lastRule(s, fmt.Sprintf("row %d of %d", min(l.at+1, len(l.rows)), len(l.rows)))
	room := max(s.rest()-2, 1)
	l.first = max(min(l.first, l.at), l.at-room+1)
	if len(l.rows) == 0 {
		s.line("   nothing happened in this recording")
	}
	for i := l.first; i < len(l.rows) && i < l.first+room; i++ {
		pointer := "   "
		if i == l.at {
			pointer = m.theme.strong.on(" > ")
		}
		m.incidentLine(s, pointer, &l.rows[i])
	}
	s.fill(2)
	s.rule(m.theme.faint, "", "")
	s.line(" ", m.theme.key.on("↑↓"), " choose   ", m.theme.key.on("enter"), " go there   ", m.theme.key.on("esc"), " back")
}

// incidentLine draws a row of what happened behind some cells.
func (v *view) incidentLine(s *sheet, before string, row *incident) {
	aside := row.aside
	if aside != "" {
		aside = "  " + aside + " "
	}
	used := ansi.StringWidth(before)
	if prose.Cells(aside)+35+used > v.w { // what it is comes first
		aside = ""
	}
	room := v.w - 25 - used - prose.Cells(aside)
	s.line(before, v.theme.faint.on(left(prose.Clock(row.at), 9)),
		v.theme.mood(row.weight, v.theme.plain).on(left(row.what, 15)), " ",
		left(row.text, room), v.theme.strong.on(aside))
}
