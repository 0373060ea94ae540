package tui

import (
	"fmt"

	tea "github.com/charmbracelet/bubbletea"

	"judder/prose"
	"judder/session"
)

// caution is the first page. It asks for no answer: the first reading or any key closes it.
var caution = []string{
	"Two people: one drives, the other watches this screen.",
	"The driver watches the road. Nothing here needs an answer.",
	"",
	"Obey traffic law. Drive only where a steady cruise is safe.",
	"The maker's procedure comes before anything said here.",
	"",
	"Press space the moment the shake is felt.",
}

// drawStart draws the caution with how the link is coming up.
func (m *model) drawStart(s *sheet) {
	m.drawHeader(s)
	s.rule(m.theme.faint, "", "")
	m.drawState(s)
	s.rule(m.theme.faint, "", "")
	const wide = 64
	before := max((s.rest()-len(caution)-2)/2, 0)
	for range before {
		s.line()
	}
	for _, t := range caution {
		s.line(spaces((m.w-min(wide, m.w))/2+1), cut(t, m.w-1))
	}
	s.fill(2)
	s.rule(m.theme.faint, "the first reading or any key closes this page", "")
	s.line(m.foot(m.w))
}

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

// pressInLanes moves and toggles in the list of lanes; it reports whether the key was one of
// these. Space is left alone: it marks, here too.
func (m *model) pressInLanes(k tea.KeyMsg) bool {
	c, n := &m.lanes, len(m.pictures.order)
	switch k.String() {
	case "up", "k":
		c.row--
	case "down", "j":
		c.row++
	case "enter", "x":
		if c.row < n {
			c.toggle(idOf(m.pictures.order[c.row]))
		}
	default:
		return false
	}
	c.row = max(0, min(c.row, n-1))
	return true
}

func (c *laneChoice) toggle(id laneID) {
	if c.hidden == nil {
		c.hidden = map[laneID]bool{}
	}
	c.hidden[id] = !c.hidden[id]
}

func (m *model) drawLaneChoice(s *sheet) {
	m.drawHeader(s)
	s.rule(m.theme.faint, "signals", "")
	m.drawState(s)
	all := m.pictures.order
	missing := m.missingLines(s.rest() / 2)
	rows := s.rest() - 3 - len(missing)
	top := max(0, m.lanes.row-rows+1)
	count := fmt.Sprintf("%d signals", len(all))
	if len(all) > rows {
		count = fmt.Sprintf("signals %d to %d of %d", top+1, min(top+rows, len(all)), len(all))
	}
	s.rule(m.theme.faint, "", count)
	if len(all) == 0 {
		s.line("   no readings yet")
	}
	for i := top; i < len(all) && i < top+rows; i++ {
		l := all[i]
		pointer, box := "   ", "[x] "
		if i == m.lanes.row {
			pointer = " > "
		}
		if m.lanes.hidden[idOf(l)] {
			box = "[ ] "
		}
		s.line(pointer, box, m.theme.strong.on(laneName(l, string(l.Signal), &m.snap, 14)), left(prose.Clean(l.Name), m.w-51),
			right(fixed(l.Value, digitsOf(l)), 9), " ", left(prose.Clean(l.Unit), 6), right(laneRate(l), 7))
	}
	s.fill(2 + len(missing))
	for _, l := range missing {
		s.line(m.theme.watch.on(l))
	}
	s.rule(m.theme.faint, linkHealth(&m.snap.Link), "")
	s.line(" ", m.theme.key.on("↑↓"), " choose   ", m.theme.key.on("enter"), " show or hide   ",
		m.theme.key.on("tab"), " back to the pictures")
}

// missingLines name what the vehicle profile promised and the car does not give, at most so many.
func (m *model) missingLines(most int) (lines []string) {
	list := m.snap.Missing
	for i := range list {
		if i == most-1 && len(list) > most {
			return append(lines, fmt.Sprintf("   %s and %d more not read", dash, len(list)-i))
		}
		why, _ := list[i].Words()
		lines = append(lines, "   "+dash+"   "+left(prose.Clean(string(list[i].Signal)), 14)+cut(why, m.w-21))
	}
	return lines
}

// terms are the words on the screen that are not states.
var terms = [...]struct{ word, meaning string }{
	{"swing", "of engine speed, peak to peak, about its trend over 3 s"},
	{"alarm at", "a regular swing above this is shudder"},
	{"shows from", "true swings from here on mostly show as shudder: readings"},
	{"", "catch only part of a swing, and it must look regular"},
	{"usable", "throttle and road speed steady: shudder would show"},
	{"slip (est.)", "engine speed above that of a locked converter clutch"},
	{"wanted", "the slip that the controller aims at (from a profile)"},
	{"slip swings", "converter slip moves though nothing asks it to"},
	{"steady for", "how long the throttle has stood still"},
	{"felt … later", "from the start of the shudder to the press of space"},
	{"1.9? Hz", "too few readings a second: the true one may be another"},
	{"5new/s", "the car gives a new value so often; it is read more often"},
	{"signal", "one row: picture, value, unit, readings a second"},
	{"block", "of its column's time, the reading farthest from the mean"},
	{"chart", "two lines: lowest and highest engine speed of a column"},
	{"blank", "no readings came in that time"},
	{dash, "not known"},
	{"own share", "this computer's time between an answer and a request"},
}

// stripWords are the glyphs of the strip under the chart and of the ruler of a replay.
var stripWords = [...]struct{ glyph, meaning string }{
	{"▲", "shudder"},
	{"!", "felt, engine speed steady"},
	{"?", "felt, but shudder could not show then"},
	{"◆", "felt, with shudder there or just before"},
	{"~", "another swing: slow surge, lock-up cycling, gear hunting"},
	{"o", "engine stopped"},
	{"n", "note"},
	{"▓ ▒ ░ ·", "usable: nearly all of the cell, half, less, none"},
	{"blank", "no readings"},
	{"┃", "the cursor of a replay"},
}

// helpLines is the page of words and keys. Keys come from the table that obeys them.
func (m *model) helpLines() []string {
	const col = 19
	room := m.w - col - 4
	head := func(t string) string { return " " + m.theme.strong.on(t) }
	row := func(word, meaning string) string {
		return "  " + m.theme.key.on(left(word, col)) + " " + cut(meaning, room)
	}
	lines := []string{head("Keys")}
	for i := range m.keys {
		h := m.keys[i].Help()
		lines = append(lines, row(h.Key, h.Desc))
	}
	lines = append(lines, "", head("The large word"))
	for _, st := range states {
		lines = append(lines, row(st.glyph+" "+st.word, st.meaning))
	}
	lines = append(lines, "", head("Other words"))
	for _, t := range terms {
		lines = append(lines, row(t.word, t.meaning))
	}
	lines = append(lines, "", head("The strip"))
	for _, g := range stripWords {
		lines = append(lines, row(g.glyph, g.meaning))
	}
	return append(lines, "", head("Care"),
		"  The helper watches the screen, the driver the road.",
		"  The maker's procedure comes before anything said here.")
}

// helpRows is how many lines of the words and keys a window shows at a time.
func helpRows(h int) int { return h - 4 }

// pressInHelp moves in the words and keys; it reports whether the key was one of these.
func (m *model) pressInHelp(k tea.KeyMsg) bool {
	step := helpRows(m.h)
	switch k.String() {
	case "up", "k":
		m.help--
	case "down", "j":
		m.help++
	case "pgup":
		m.help -= step
	case "pgdown":
		m.help += step
	case "home":
		m.help = 0
	case "end":
		m.help = len(m.helpLines())
	default:
		return false
	}
	m.help = max(0, min(m.help, len(m.helpLines())-step))
	return true
}

func (m *model) drawHelp(s *sheet) {
	lines := m.helpLines()
	rows := helpRows(m.h)
	m.help = min(m.help, max(len(lines)-1, 0))
	pages := (len(lines) + rows - 1) / rows
	s.line(m.theme.faint.on(" judder"), "  words and keys")
	s.rule(m.theme.faint, "", fmt.Sprintf("%d of %d", m.help/rows+1, pages))
	for _, l := range lines[m.help:min(m.help+rows, len(lines))] {
		s.line(l)
	}
	s.fill(2)
	s.rule(m.theme.faint, "", "")
	next := " next page   "
	if m.help+rows >= len(lines) {
		next = " back        "
	}
	s.line(" ", m.theme.key.on("?"), next, m.theme.key.on("↑↓ pgup pgdn"), " move   ", m.theme.key.on("esc"), " back")
}
