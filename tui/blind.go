package tui

import (
	"fmt"
	"math"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// blindPane knows when a blind pass is over: the pass was steady for a while, and is no longer.
type blindPane struct {
	on     bool
	judged time.Duration // judged when it began
	left   time.Duration // of the drive: since when it is no longer steady; 0 while it is
}

// A pass is so long at least, and is over when it has not been steady for a while.
const (
	passLeast  = 8 * time.Second
	passOverIn = 5 * time.Second
)

// follow takes a snapshot and reports whether the pass is over now.
func (b *blindPane) follow(s *session.Snapshot) (over bool) {
	if s.Blind.On != b.on {
		b.on, b.judged, b.left = s.Blind.On, s.Detector.Judged, 0
	}
	if !b.on || s.Detector.Reason == detect.Judged || s.Detector.Alarmed || s.Detector.Judged-b.judged < passLeast {
		b.left = 0
		return false
	}
	if b.left == 0 {
		b.left = s.Now
	}
	return s.Now-b.left >= passOverIn
}

// toggleBlind begins a blind pass, or ends it.
func toggleBlind(m *model) tea.Cmd {
	on := !m.snap.Blind.On
	m.src.drive.SetBlind(on)
	m.marks.open = false
	if m.page = pageDrive; on {
		m.say("blind pass: mark whenever it shakes")
	}
	m.snap.Blind.On = on // until the next frame says so
	return nil
}

// followBlind ends a blind pass that is over, and says what it gave.
func followBlind(m *model) {
	was := m.blind.on
	if m.blind.follow(&m.snap) {
		m.src.drive.SetBlind(false)
	}
	if was && !m.snap.Blind.On {
		m.say(blindWords(&m.snap.Blind))
	}
}

// blindWords are what the blind passes gave, with the figures that chance is counted from.
func blindWords(b *session.BlindState) string {
	if b.Marks == 0 {
		return fmt.Sprintf("blind: no mark in %s of usable time", prose.Duration(b.Judged))
	}
	text := fmt.Sprintf("blind: %d of %d marks at a shudder, whose windows cover %.0f %% of %s", b.Hits, b.Marks, 100*b.Share, prose.Duration(b.Judged))
	if !math.IsNaN(b.Chance) {
		text += "; by chance " + chanceWords(b.Chance)
	}
	return text
}

// chanceWords are a probability in two digits.
func chanceWords(p float64) string {
	if p < 0.0001 {
		return "under 0.01 %"
	}
	return fmt.Sprintf("%.2g %%", 100*p)
}

// drawBlind draws a blind pass: nothing of what is found.
func drawBlind(s *sheet, m *model) {
	m.drawHeader(s)
	s.rule(m.theme.faint, "", "")
	m.drawState(s)
	s.rule(m.theme.faint, "", "")
	lines := []string{
		"Mark whenever it shakes: space, or your switch.",
		"",
		"Word, numbers and bell are hidden until the pass is over.",
		"It is over when the cruise ends, or at B.",
	}
	lines = prose.Wrap(lines, m.w-2)
	for range max((s.rest()-len(lines)-2)/2, 0) {
		s.line()
	}
	for _, l := range lines {
		s.line(spaces((m.w-min(58, m.w))/2+1), cut(l, m.w-1))
	}
	s.fill(2)
	s.rule(m.theme.faint, "", "")
	s.line(m.footLine())
}
