package tui

import (
	"fmt"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// checkPage is the page of the code check; first is the line of its result that it begins with.
type checkPage struct{ first int }

// checkIntro is what the page says before a check was asked for.
func checkIntro(v *view) []string {
	begin := "Press ENTER to begin."
	if kmh, _ := v.roadSpeed(); kmh > 0 {
		begin = "The car moves: stop first, then press ENTER."
	}
	return []string{
		"Reads from every control unit: codes with their freeze frames, readiness,",
		"test results and misfire counts. Nothing is erased.",
		"",
		begin,
		"",
	}
}

// checkWait is shown before a check and while it runs.
var checkWait = []string{
	"It takes ten seconds to a minute, longer on an old bus. Engine speed is not",
	"read meanwhile. Stand still, ignition on, engine off if you can.",
}

// press moves in the result; it reports whether the key was one that does.
func (p *checkPage) press(k tea.KeyMsg, v *view) bool {
	step := max(v.h-checkFrame, 1)
	var ok bool
	p.first, ok = moved(k, p.first, step, len(prose.Wrap(v.snap.Check.Lines, v.w-2))-step)
	return ok
}

// checkFrame is how many lines of the page are not the result.
const checkFrame = 6

// linkLines are the state of the link while the car does not answer.
func linkLines(l *session.Link) []string {
	if l.State == obd.LinkCar {
		return nil
	}
	if words := l.Words(); words != "" {
		return []string{"The link: " + words}
	}
	return []string{"The link: " + l.Text}
}

func (p *checkPage) draw(s *sheet, v *view) {
	v.drawHeader(s)
	c := &v.snap.Check
	state := "not read yet"
	switch {
	case c.Running:
		state = "reading " + prose.Clean(c.Doing)
	case c.Asked:
		state = "read at " + prose.Clock(c.At)
	}
	s.rule(v.theme.faint, "code check: "+state, "")
	lines := c.Lines
	switch {
	case c.Running:
		lines = append([]string{"Reading " + c.Doing + "."}, linkLines(&v.snap.Link)...)
		lines = append(append(lines, ""), checkWait...)
	case !c.Asked:
		lines = append(append(linkLines(&v.snap.Link), checkIntro(v)...), checkWait...)
	}
	lines = prose.Wrap(lines, v.w-2)
	p.first = min(p.first, max(len(lines)-1, 0))
	for _, l := range lines[p.first:min(p.first+max(s.rest()-2, 0), len(lines))] {
		s.line(" ", cut(l, v.w-2)) // a word may be wider than a line
	}
	s.fill(2)
	more := ""
	if below := len(lines) - p.first - (v.h - checkFrame); below > 0 {
		more = fmt.Sprintf("%d more lines", below)
	}
	v.lastRule(s, more)
	begin := " begin   "
	switch {
	case c.Running:
		begin = " (running)   "
	case c.Asked:
		begin = " read again   "
	}
	s.line(" ", v.theme.key.on("enter"), begin, v.theme.key.on("↑↓ pgup pgdn"), " move   ", v.theme.key.on("esc"), " back")
}
