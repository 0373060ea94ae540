package tui

import (
	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/session"
)

// finish ends the drive and turns to the last page. The program stays until a key is pressed there:
// the answer must not scroll away.
func (m *model) finish() tea.Cmd {
	if m.snap.Phase != session.Finished && !m.ended {
		m.ended = true
		m.src.End()
	}
	m.page = pageEnd
	return nil
}

// drawEnd draws the last page: the finding, what there was, where it is saved, what to do next, and
// the wave of the last shudder where there is room.
func (m *model) drawEnd(s *sheet) {
	m.drawHeader(s)
	m.lastRule(s, "")
	if m.snap.Phase != session.Finished && !m.replay {
		s.line("   ending the drive …")
		s.fill(1)
		s.line(m.footLine())
		return
	}
	ending := endingOfSnapshot(&m.snap)
	if m.replay {
		ending = endingOfReplay(&m.snap)
	}
	headline := m.theme.strong
	for _, l := range ending.Lines(m.w - 4) {
		if l == "" { // the headline is over
			headline = m.theme.plain
		}
		s.line("  ", headline.on(l))
	}
	p := &m.pictures.wave
	if rows := s.rest() - waveFrame - 2; p.kept.End > 0 && rows >= waveLeast {
		s.rule(m.theme.faint, "", "")
		p.frozen.draw(s, &m.view, min(rows, mostWave), m.w-axisWidth)
	}
	s.fill(1)
	s.line(" ", m.theme.key.on("q"), " leave   ", m.theme.key.on("esc"), " back to the pictures")
}
