package tui

import (
	"fmt"

	tea "github.com/charmbracelet/bubbletea"

	"judder/obd"
	"judder/prose"
)

// checkIntro is what the page says before a check was asked for.
var checkIntro = []string{
	"Reads from every control unit: codes with their freeze frames, readiness,",
	"test results and misfire counts. Nothing is erased.",
	"",
	"Press ENTER to begin.",
	"",
}

// checkWait is shown before a check and while it runs.
var checkWait = []string{
	"It takes ten seconds to a minute, longer on an old bus. Engine speed is not",
	"read meanwhile. Stand still, ignition on, engine off if you can.",
}

func (m *model) openCheck() tea.Cmd {
	m.turnTo(pageCheck)
	m.check = 0
	return nil
}

// pressInCheck starts a check and moves in its result; it reports whether the key was one of
// these.
func (m *model) pressInCheck(k tea.KeyMsg) bool {
	step := max(m.h-checkFrame, 1)
	switch k.String() {
	case "enter":
		if err := m.src.StartCheck(); err != nil {
			m.say(err.Error())
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
	m.check = max(0, min(m.check, len(prose.Wrap(m.snap.Check.Lines, m.w-2))-step))
	return true
}

// checkFrame is how many lines of the page are not the result.
const checkFrame = 6

// linkWords are the state of the link while the car does not answer.
func (m *model) linkWords() []string {
	if m.snap.Link.State == obd.LinkCar {
		return nil
	}
	if words := m.snap.Link.Words(); words != "" {
		return []string{"The link: " + words}
	}
	return []string{"The link: " + m.snap.Link.Text}
}

func (m *model) drawCheck(s *sheet) {
	m.drawHeader(s)
	c := &m.snap.Check
	state := "not read yet"
	switch {
	case c.Running:
		state = "reading " + prose.Clean(c.Doing)
	case c.Asked:
		state = "read at " + prose.Clock(c.At)
	}
	s.rule(m.theme.faint, "code check: "+state, "")
	lines := c.Lines
	switch {
	case c.Running:
		lines = append([]string{"Reading " + c.Doing + "."}, m.linkWords()...)
		lines = append(append(lines, ""), checkWait...)
	case !c.Asked:
		lines = append(append(m.linkWords(), checkIntro...), checkWait...)
	}
	lines = prose.Wrap(lines, m.w-2)
	m.check = min(m.check, max(len(lines)-1, 0))
	for _, l := range lines[m.check:min(m.check+max(s.rest()-2, 0), len(lines))] {
		s.line(" ", cut(l, m.w-2)) // a word may be wider than a line
	}
	s.fill(2)
	more := ""
	if below := len(lines) - m.check - (m.h - checkFrame); below > 0 {
		more = fmt.Sprintf("%d more lines", below)
	}
	s.rule(m.theme.faint, "", more)
	if m.noticed() {
		s.line(m.foot(m.w))
		return
	}
	begin := " begin   "
	switch {
	case c.Running:
		begin = " (running)   "
	case c.Asked:
		begin = " read again   "
	}
	s.line(" ", m.theme.key.on("enter"), begin, m.theme.key.on("↑↓ pgup pgdn"), " move   ", m.theme.key.on("esc"), " back")
}
