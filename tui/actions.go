package tui

import (
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/charmbracelet/bubbles/key"

	"github.com/judder-obd/judder/session"
)

func keyMatches(k tea.KeyMsg, b binding) bool { return key.Matches(k, b.Binding) }

func (m *model) say(text string) { m.foot.say(text, m.now) }

func (m *model) toggleBell() tea.Cmd {
	m.bell.on = !m.bell.on
	m.say(bellWord(m.bell.on))
	return nil
}

// toggleSunlight changes to black on white, and back.
func (m *model) toggleSunlight() tea.Cmd {
	usual, sunlight := &m.themes[0], &m.themes[1]
	switch {
	case sunlight.ground == "":
		m.say("this terminal has no colours")
	case m.theme.ground == "":
		m.theme = *sunlight
	default:
		m.theme = *usual
	}
	return nil
}

func bellWord(on bool) string {
	if on {
		return "bell on"
	}
	return "bell off"
}

func (m *model) openSignals() tea.Cmd {
	m.turnTo(pageSignals)
	return nil
}

func (m *model) toggleGlance() tea.Cmd {
	m.turnTo(pageGlance)
	return nil
}

func (m *model) openCheck() tea.Cmd {
	m.turnTo(pageCheck)
	m.check.first = 0
	return nil
}

// startCheck begins a code check, or says why not.
func (m *model) startCheck() {
	if err := m.src.drive.StartCheck(); err != nil {
		m.say(err.Error())
	}
	m.check.first = 0
}

// turnTo shows a page, or the drive when that page is shown already.
func (m *model) turnTo(p page) {
	if m.page == p {
		p = pageDrive
	}
	m.page = p
}

// toggleHelp opens the words and keys, turns their pages, and closes them after the last.
func (m *model) toggleHelp() tea.Cmd {
	if m.page != pageHelp {
		m.page, m.help.first = pageHelp, 0
		return nil
	}
	if !m.help.turn(&m.view, m.foot.keys) {
		m.page = pageDrive
	}
	return nil
}

func (m *model) back() tea.Cmd {
	m.page = pageDrive
	return nil
}

// quit ends a drive of which nothing was read. Another, and a replay, ends with its last page; a
// recorded one asks once, and a page that covers it is left first: what was driven cannot be driven
// again.
func (m *model) quit() tea.Cmd {
	switch {
	case m.page == pageEnd || len(m.snap.Lanes) == 0 && !m.replay:
		return m.leave()
	case m.replay:
		m.turnToEnd()
		return nil
	case m.snap.Phase == session.Finished || !recorded(&m.snap) || m.now.Before(m.asked):
		return m.finish()
	case m.page != pageDrive && m.page != pageGlance:
		return m.back()
	}
	m.asked = m.now.Add(askTime)
	m.foot.notice = notice{"press q again to end the drive", m.asked}
	return nil
}

// askTime is how long a second q ends the drive.
const askTime = 5 * time.Second

func (m *model) leave() tea.Cmd { return tea.Quit }

// recorded reports whether something of the drive was read and is being recorded.
func recorded(s *session.Snapshot) bool {
	return s.Recording != "" && s.Trouble == "" && (s.Phase == session.Running || s.Phase == session.LinkLost)
}
