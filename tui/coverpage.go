package tui

import (
	"fmt"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/complaint"
)

// openCover turns to the page of what was driven.
func openCover(m *model) tea.Cmd {
	m.turnTo(pageCover)
	return nil
}

// drawCover draws what was driven: usable time by road speed and load, the passes, and what is still
// needed.
func drawCover(s *sheet, m *model) {
	m.drawHeader(s)
	m.lastRule(s, "")
	snap := &m.snap
	box := snap.Complaint
	said := "no complaint was given: every steady cruise counts"
	if !box.IsZero() {
		said = "complaint: " + box.String()
	}
	s.line(" ", cut(said, m.w-2))
	for _, l := range wrapped(needWords(&snap.Need, box), m.w-2, 2) {
		s.line(" ", m.theme.strong.on(l))
	}
	s.rule(m.theme.faint, "usable time by road speed and load", "")
	for _, l := range coverTable(&snap.Cover, box, &m.theme, s.rest()-3) {
		s.line(cutInk(l, m.w))
	}
	s.rule(m.theme.faint, "passes, the latest first", "")
	for i := len(snap.Passes) - 1; i >= 0 && s.rest() > 2; i-- {
		p := &snap.Passes[i]
		end, ink := "", m.theme.plain
		if p.Shudder {
			end, ink = "  shook", m.theme.text[moodAlarm]
		}
		in := ""
		if p.InComplaint {
			in = "  in the complaint"
		}
		s.line(" ", m.theme.faint.on(left(prose.Clock(p.Start), 9)), cut(right(wholeTime(p.Judged), 9)+"  "+right(quantity(p.SpeedKMH, "km/h"), 8)+"  load "+right(quantity(p.LoadPct, "%"), 7), m.w-10), in, ink.on(end))
	}
	s.fill(2)
	s.rule(m.theme.faint, "", "")
	s.line(m.footLine())
}

// coverTable is a line for each band of road speed, with what the complaint is about brighter. In at most
// so many lines: bands in which nothing was driven or asked about go first.
func coverTable(c *session.Coverage, box complaint.Box, th *theme, most int) (lines []string) {
	asks := func(r *session.CoverRow) bool {
		return !box.IsZero() && (!box.HasSpeed() || box.FromKMH < r.ToKMH && box.ToKMH > r.FromKMH)
	}
	all := len(c.Rows) < most
	cell := func(d time.Duration) string {
		return right(wholeTime(d), 10)
	}
	lines = append(lines, th.faint.on(left("", 13)+right("light", 10)+right("medium", 10)+right("heavy", 10)+right("load "+dash, 10)))
	for i := range c.Rows {
		r := &c.Rows[i]
		if !all && (r.Judged == [len(r.Judged)]time.Duration{} && !asks(r) || len(lines) >= most) {
			continue
		}
		line := left(fmt.Sprintf(" %.0f–%.0f km/h", r.FromKMH, r.ToKMH), 13)
		for k, d := range r.Judged {
			asked := asks(r) && (box.Load == "" || session.CoverColumn(box.Load) == k)
			ink := th.plain
			switch {
			case asked:
				ink = th.strong
			case d == 0:
				ink = th.faint
			}
			line += ink.on(cell(d))
		}
		lines = append(lines, line)
	}
	return lines
}
