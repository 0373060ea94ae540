package tui

import (
	"fmt"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// laneChoice is which lanes are shown; none hidden at first.
type laneChoice struct {
	hidden map[laneID]bool
	row    int
	shown  []*session.Lane // reused
}

func (c *laneChoice) visible(all []*session.Lane) []*session.Lane {
	c.shown = c.shown[:0]
	for _, l := range all {
		if !c.hidden[idOf(l)] {
			c.shown = append(c.shown, l)
		}
	}
	return c.shown
}

// press moves and toggles in the list of lanes; it reports whether the key was one of
// these. Space is left alone: it marks, here too.
func (c *laneChoice) press(k tea.KeyMsg, all []*session.Lane) bool {
	n := len(all)
	switch k.String() {
	case "enter", "x":
		if c.row < n {
			c.toggle(idOf(all[c.row]))
		}
		return true
	}
	var ok bool
	c.row, ok = moved(k, c.row, 0, n-1)
	return ok
}

func (c *laneChoice) toggle(id laneID) {
	if c.hidden == nil {
		c.hidden = map[laneID]bool{}
	}
	c.hidden[id] = !c.hidden[id]
}

func (c *laneChoice) draw(s *sheet, v *view, all []*session.Lane) {
	v.drawHeader(s)
	s.rule(v.theme.faint, "signals", "")
	v.drawState(s)
	missing := missingLines(v.snap.Missing, s.rest()/2, v.w-21)
	rows := s.rest() - 3 - len(missing)
	top := max(0, c.row-rows+1)
	count := fmt.Sprintf("%d signals", len(all))
	if len(all) > rows {
		count = fmt.Sprintf("signals %d to %d of %d", top+1, min(top+rows, len(all)), len(all))
	}
	v.lastRule(s, count)
	if len(all) == 0 {
		s.line("   no readings yet")
	}
	for i := top; i < len(all) && i < top+rows; i++ {
		l := all[i]
		pointer, box := "   ", "[x] "
		if i == c.row {
			pointer = " > "
		}
		if c.hidden[idOf(l)] {
			box = "[ ] "
		}
		name := 14
		if v.w < 51 {
			name = 10
		}
		s.line(pointer, box, v.theme.strong.on(laneName(l, string(l.Signal), &v.snap, name)), left(prose.Clean(l.Name), v.w-51),
			right(fixed(l.Value, digitsOf(l)), 9), " ", left(prose.Clean(l.Unit), 6), right(laneRate(l), 7))
	}
	s.fill(2 + len(missing))
	for _, l := range missing {
		s.line(v.theme.text[moodWatch].on(l))
	}
	s.rule(v.theme.faint, linkHealth(&v.snap.Link), "")
	s.line(" ", v.theme.key.on("↑↓"), " choose   ", v.theme.key.on("enter"), " show or hide   ",
		v.theme.key.on("tab"), " back to the pictures")
}

// missingLines name what the vehicle profile promised and the car does not give, at most so many.
func missingLines(list []session.Missing, most, w int) (lines []string) {
	for i := range list {
		if i == most-1 && len(list) > most {
			return append(lines, fmt.Sprintf("   %s and %d more not read", dash, len(list)-i))
		}
		why, _ := list[i].Words()
		lines = append(lines, "   "+dash+"   "+left(prose.Clean(string(list[i].Signal)), 14)+cut(why, w))
	}
	return lines
}
