package tui

import (
	"fmt"
	"strings"

	tea "github.com/charmbracelet/bubbletea"
)

// checkIntro is what the page says before a check was asked for.
var checkIntro = []string{
	"Every computer is asked what it remembers: codes with their freeze frame,",
	"readiness, test results and misfire counts. Nothing is erased.",
	"",
	"It takes ten seconds to a minute, on an old bus longer. Engine speed is not",
	"read meanwhile: stand still, ignition on, best with the engine off.",
	"",
	"Enter begins.",
}

func (m *model) openCheck() tea.Cmd {
	m.turnTo(pageCheck)
	return nil
}

// pressInCheck starts a check and moves in its result; it reports whether the key was one of
// these.
func (m *model) pressInCheck(k tea.KeyMsg) bool {
	step := max(m.h-checkFrame, 1)
	switch k.String() {
	case "enter":
		if !m.src.StartCheck() {
			m.say("a check is running, or there is no car")
		}
		m.check = 0
	case "up", "k":
		m.check--
	case "down", "j":
		m.check++
	case "pgup":
		m.check -= step
	case "pgdown":
		m.check += step
	default:
		return false
	}
	m.check = max(0, min(m.check, len(m.snap.Check.Lines)-1))
	return true
}

// checkFrame is how many lines of the page are not the result.
const checkFrame = 6

func (m *model) drawCheck(s *sheet) {
	m.drawHeader(s)
	c := &m.snap.Check
	state := "not asked yet"
	switch {
	case c.Running:
		state = "reading " + clean(c.Doing)
	case c.Asked:
		state = "read at " + clock(c.At)
	}
	s.rule(m.theme.faint, "standing check: "+state, "")
	lines := c.Lines
	if !c.Asked || c.Running && len(lines) == 0 {
		lines = checkIntro
	}
	m.check = min(m.check, max(len(lines)-1, 0))
	for _, l := range lines[m.check:min(m.check+max(s.rest()-2, 0), len(lines))] {
		s.line(" ", cut(clean(strings.ReplaceAll(l, "\t", " ")), m.w-2))
	}
	s.fill(2)
	more := ""
	if below := len(lines) - m.check - (m.h - checkFrame); below > 0 {
		more = fmt.Sprintf("%d more lines", below)
	}
	s.rule(m.theme.faint, "", more)
	s.line(" ", m.theme.key.on("enter"), " read them   ", m.theme.key.on("↑↓ pgup pgdn"), " move   ", m.theme.key.on("esc"), " back")
}
