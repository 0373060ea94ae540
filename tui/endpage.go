package tui

import (
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"

	"github.com/judder-obd/judder/session"
)

// leaving is how the end goes.
type leaving struct {
	asked time.Time // until when a second q ends the drive
	ended bool      // the session was ended, for the last page
	whole *Ending   // of the drive, once it is over
}

// finish ends the drive and turns to the last page. The program stays until a key is pressed there:
// the answer must not scroll away.
func (m *model) finish() tea.Cmd {
	if m.snap.Phase != session.Finished && !m.ended {
		m.ended = true
		m.src.End()
	}
	m.turnToEnd()
	return nil
}

// turnToEnd shows the last page: what was asked or answered before is over.
func (m *model) turnToEnd() { m.page, m.foot.notice = pageEnd, notice{} }

// wholeEnding is what there is to say of the whole drive: what the shell says after it.
func (m *model) wholeEnding() *Ending {
	switch {
	case m.replay:
		e := endingOfReplay(&m.snap)
		return &e
	case m.whole == nil:
		r := m.src.drive.Result()
		e := EndingOf(&r, m.snap.Recording, m.snap.Stopped)
		m.whole = &e
	}
	return m.whole
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
	ending := m.wholeEnding()
	headline := m.theme.strong
	for _, l := range ending.Lines(m.w - 4) {
		if l == "" { // the headline is over
			headline = m.theme.plain
		}
		for part := range strings.SplitSeq(ansi.Hardwrap(l, m.w-4, true), "\n") {
			if s.rest() > 1 { // the shell has it whole
				s.line("  ", headline.on(part))
			}
		}
	}
	p := &m.pictures.wave
	if rows := s.rest() - waveFrame - 2; p.kept.End > 0 && rows >= waveLeast {
		s.rule(m.theme.faint, "", "")
		p.frozen.draw(s, &m.view, min(rows, mostWave), m.w-axisWidth)
	}
	s.fill(1)
	s.line(" ", m.theme.key.on("q"), " leave   ", m.theme.key.on("esc"), " back to the pictures")
}
