package tui

import (
	"slices"
	"strings"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// lastShudder is the latest shudder in words, for every page: it is asked for after it is over. It
// begins with its time; "" where there was none, and in a blind pass.
func lastShudder(s *session.Snapshot) string {
	n := len(s.Events)
	if n == 0 || s.Blind.On {
		return ""
	}
	e := &s.Events[n-1]
	text := prose.Clock(e.Start) + ", " + quantity(e.SwingRPM, "rpm")
	if slices.ContainsFunc(s.Marks, func(m session.Mark) bool { return m.About(e) }) {
		text += ", felt"
	}
	return text
}

// lastRule adds a line across with the last shudder in it, brighter than the line, and words at the
// right.
func (v *view) lastRule(s *sheet, atRight string) {
	text := lastShudder(&v.snap)
	if text == "" {
		s.rule(v.theme.faint, "", atRight)
		return
	}
	if long := "last shudder " + text; prose.Cells(long) <= v.w-6 {
		text = long
	} else {
		text = cut("shudder "+text, v.w-6)
	}
	if atRight = " " + atRight + " ──"; atRight == "  ──" || prose.Cells(text)+prose.Cells(atRight)+6 > v.w {
		atRight = ""
	}
	n := v.w - 4 - prose.Cells(text) - prose.Cells(atRight)
	s.line(v.theme.faint.on("── "), v.theme.strong.on(text), v.theme.faint.on(" "+strings.Repeat("─", max(n, 0))+atRight))
}

// lastLine is lastShudder as a line of its own.
func lastLine(s *session.Snapshot) string {
	if text := lastShudder(s); text != "" {
		return "last shudder " + text
	}
	return ""
}
