package tui

import (
	"github.com/judder-obd/judder/prose"
)

// startSafety is on the start page as long as it is there.
var startSafety = []string{
	"A second person watches the screen; the driver watches the road.",
	"Obey traffic law. The maker's procedure comes before anything said here.",
}

// View draws the page.
func (m *startModel) View() string {
	if m.w < minWidth || m.h < minHeight {
		return drawTooSmall(m.w, m.h)
	}
	th := &m.themes[0]
	if m.choice.Sunlight {
		th = &m.themes[1]
	}
	s := newSheet(m.w, m.h)
	s.line(th.faint.on(" judder"), "  ", th.strong.on("choose what to do"))
	s.rule(th.faint, "", "")
	for _, l := range prose.Wrap(startSafety, m.w-2) {
		s.line(" ", l)
	}
	if t := prose.Clean(m.start.Trouble); t != "" {
		for _, l := range wrapped("last: "+t, m.w-2, 2) {
			s.line(" ", th.text[moodWatch].on(l))
		}
	}
	m.drawRows(s, th)
	s.fill(2)
	if m.entry.ask != "" && m.said != "" {
		s.line(th.text[moodWatch].on(cut(" "+prose.Clean(m.said), m.w-1)))
	} else {
		s.rule(th.faint, "", "")
	}
	s.line(m.foot(th))
	return th.paint(s.String(), m.w)
}

// drawRows draws the rows that have room, the one of the cursor always.
func (m *startModel) drawRows(s *sheet, th *theme) {
	room := s.rest() - 2
	m.first = min(m.first, m.at)
	for m.linesOf(m.first, m.at) > room && m.first < m.at {
		m.first++
	}
	name, text := 12, 0
	for i := range m.rows {
		name, text = max(name, prose.Cells(m.rows[i].name)), max(text, prose.Cells(m.rows[i].text))
	}
	name = min(name, max(m.w-text-6, m.w*7/20)) // what a row says comes before the middle of a long name
	for i := m.first; i < len(m.rows) && m.linesOf(m.first, i) <= room; i++ {
		row := &m.rows[i]
		if head := row.head; head != "" || i == m.first && i > 0 {
			s.rule(th.faint, head, "")
		}
		pointer, ink := "   ", th.plain
		if i == m.at {
			pointer, ink = " > ", th.strong
		}
		wide := max(name, min(prose.Cells(row.name), m.w-prose.Cells(row.text)-6)) // a longer name has what its row leaves
		if m.w < smallBelow {                                                      // no columns: the end of a name is what tells recordings apart
			wide = min(prose.Cells(row.name), m.w-4)
		}
		s.line(ink.on(pointer+left(cutMiddle(row.name, wide), wide)), "  ", cut(row.text, m.w-wide-6))
	}
}

// linesOf is how many lines the rows from one to another take.
func (m *startModel) linesOf(from, to int) int {
	n := to - from + 1
	for i := from; i <= to; i++ {
		if m.rows[i].head != "" || i == from && i > 0 {
			n++
		}
	}
	return n
}

// foot is the last line: what is typed, what was said, or the keys.
func (m *startModel) foot(th *theme) string {
	switch {
	case m.entry.ask != "":
		n := noteEntry{open: true, text: m.entry.text}
		return n.asking(" "+m.entry.ask, "   enter takes it, esc drops it", m.w)
	case m.said != "":
		return th.strong.on(cut(" "+prose.Clean(m.said), m.w-1))
	}
	key := func(name, what string) string { return th.key.on(name) + " " + th.faint.on(what) + "   " }
	line := " " + key("↑↓", "choose") + key("enter", "start")
	if m.w >= 70 {
		line += key("b", "bell on or off") + key("s", "sunlight")
	}
	return line + key("q", "leave")
}
