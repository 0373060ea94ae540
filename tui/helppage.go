package tui

import (
	"fmt"

	tea "github.com/charmbracelet/bubbletea"
)

// helpPage is the page of words and keys; first is the line that it begins with.
type helpPage struct{ first int }

// terms are the words on the screen that are not states.
var terms = [...]struct{ word, meaning string }{
	{"swing", "of engine speed, from its lowest to its highest point"},
	{"alarm at", "a regular swing above this is shudder"},
	{"would show from", "a swing of this size or more would mostly show as shudder;"},
	{"", "a smaller one may be there and not be seen"},
	{"usable", "throttle and road speed steady: shudder would show"},
	{"est.slip", "estimated: engine speed above that of a locked converter clutch"},
	{"wanted", "the slip that the controller aims at (from a profile)"},
	{"slip swings", "converter slip moves though nothing asks it to"},
	{"steady for", "how long the throttle has been steady"},
	{"felt … later", "from the start of the shudder to the press of space"},
	{"1.9? Hz", "too few readings a second: the true one may be another"},
	{"5new/s", "new values a second; the readings between repeat the last"},
	{"wave", "engine speed about its own slow trend, the last 8 s"},
	{"dotted across", "the alarm level, above and below the trend"},
	{"dotted upright", "a step of engine speed; in a replay also the cursor"},
	{"single points", "too few readings in a cycle for a line"},
	{"pass", "8 s and more at steady throttle and road speed"},
	{"twice, for 2.1 s", "a mark: two presses within 3 s; a key that was held"},
	{"last shudder", "its time, its size, and whether it was felt"},
	{"still", "signals that have not changed for a minute, as numbers"},
	{"brighter dots", "the signal moves there, or the large word asks about it"},
	{"chart", "two lines: lowest and highest engine speed of a column"},
	{dash, "not known"},
	{"own share", "this computer's time between an answer and a request"},
}

// stripWords are the glyphs of the strip under the chart and of the ruler of a replay.
var stripWords = [...]struct{ glyph, meaning string }{
	{"▲", "shudder"},
	{"+", "felt, not decided yet"},
	{"!", "felt, engine speed steady"},
	{"?", "felt, but shudder could not show then"},
	{"◆", "felt, with shudder there or just before"},
	{"~", "another swing: slow surge, lock-up cycling, gear hunting"},
	{"o", "engine stopped"},
	{"s", "a test step: announced, or made in a shake"},
	{"n", "note"},
	{"━ ╍ ┄ ·", "usable: nearly all of that time, half, less, none"},
	{"blank", "no readings"},
	{"┃", "the cursor of a replay"},
}

// helpLines is the page of words and keys. Keys come from the table that obeys them.
func helpLines(v *view, keys []binding) []string {
	const col = 19
	room := v.w - col - 4
	head := func(t string) string { return " " + v.theme.strong.on(t) }
	row := func(word, meaning string) string {
		return "  " + v.theme.key.on(left(word, col)) + " " + cut(meaning, room)
	}
	lines := []string{head("Keys")}
	for i := range keys {
		h := keys[i].Help()
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
		"  A second person watches the screen; the driver watches the road.",
		"  The maker's procedure comes before anything said here.")
}

// helpRows is how many lines of the words and keys a window shows at a time.
func helpRows(h int) int { return h - 4 }

// turn goes on by a page; it reports whether there was one.
func (p *helpPage) turn(v *view, keys []binding) bool {
	p.first += helpRows(v.h)
	return p.first < len(helpLines(v, keys))
}

// press moves in the words and keys; it reports whether the key was one of these.
func (p *helpPage) press(k tea.KeyMsg, v *view, keys []binding) bool {
	step := helpRows(v.h)
	var ok bool
	p.first, ok = moved(k, p.first, step, len(helpLines(v, keys))-step)
	return ok
}

func (p *helpPage) draw(s *sheet, v *view, keys []binding) {
	lines := helpLines(v, keys)
	rows := helpRows(v.h)
	p.first = min(p.first, max(len(lines)-1, 0))
	pages := (len(lines) + rows - 1) / rows
	s.line(v.theme.faint.on(" judder"), "  words and keys")
	s.rule(v.theme.faint, "", fmt.Sprintf("%d of %d", p.first/rows+1, pages))
	for _, l := range lines[p.first:min(p.first+rows, len(lines))] {
		s.line(l)
	}
	s.fill(2)
	v.lastRule(s, "")
	next := " next page   "
	if p.first+rows >= len(lines) {
		next = " back        "
	}
	s.line(" ", v.theme.key.on("?"), next, v.theme.key.on("↑↓ pgup pgdn"), " move   ", v.theme.key.on("esc"), " back")
}
