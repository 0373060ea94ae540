package tui

import (
	"fmt"
	"strings"
	"time"

	"github.com/judder-obd/judder/prose"
)

// glance is the page for a look from the corner of an eye: the state in letters eight rows
// tall, the swing and the counts under it. It changes at most twice a second.
type glance struct {
	drawn time.Time
	w, h  int
	lines []string
	shown state
}

// glanceHold is the least time that a glance stays as it is.
const glanceHold = 500 * time.Millisecond

func (g *glance) draw(s *sheet, v *view, foot string) {
	if g.lines == nil || g.w != v.w || g.h != v.h || v.now.Sub(g.drawn) >= glanceHold {
		g.drawn, g.w, g.h = v.now, v.w, v.h
		g.compose(v)
	}
	word := glanceWords(states[g.shown].word, v.w, v.h-1-glanceLeast)
	g.fit(v.h - 1 - len(word))
	tall := len(g.lines) + len(word)
	for range max((v.h-1-tall)/2, 0) {
		s.line()
	}
	k := v.theme.mood(states[g.shown].mood, v.theme.strong) // of text: letters of blocks on a ground would be holes
	for _, l := range word {
		s.line(k.on(l))
	}
	for _, l := range g.lines {
		s.line(l)
	}
	s.fill(1)
	s.line(foot)
}

func (g *glance) compose(v *view) {
	d := &v.snap.Detector
	g.shown = v.word.shown
	g.lines = []string{""}
	for _, l := range v.shownLines(v.w - 4) {
		g.lines = append(g.lines, middle(l, v.w))
	}
	g.lines = append(g.lines, "",
		middle(fmt.Sprintf("swing %s   alarm at %s", right(quantity(d.SwingRPM, "rpm"), 8), right(quantity(d.LimitRPM, "rpm"), 8)), v.w),
		middle(fmt.Sprintf("%d felt   %d seen", countFelt(v.snap.Marks), len(v.snap.Events)), v.w),
		middle(lastLine(&v.snap), v.w))
}

// glanceLeast is how many lines under the word are always there: a blank one, the reason and
// what to do.
const glanceLeast = 3

// fit leaves out what there are no rows for, the last first: the reason stays longest.
func (g *glance) fit(rows int) { g.lines = g.lines[:max(min(len(g.lines), rows), 0)] }

// glanceWords draws words in large letters, in the widest form that fits, in several rows where they
// do not fit beside each other and there is room for it.
func glanceWords(text string, w, rows int) []string {
	words := strings.Fields(text)
	for _, form := range fontForms {
		if line := bigLine(text, form); prose.Cells(line[0]) <= w-2 {
			return centre(line[:], w)
		}
		if len(words) < 2 {
			continue
		}
		if lines, fits := stacked(words, form, w); fits && form != fontForms[0] && len(lines) <= rows {
			return lines
		}
	}
	return []string{middle(text, w)}
}

// stacked draws words under each other, as many in a line as fit.
func stacked(words []string, form fontForm, w int) (lines []string, fits bool) {
	for len(words) > 0 {
		n := len(words)
		row := bigLine(strings.Join(words, " "), form)
		for ; prose.Cells(row[0]) > w-2; row = bigLine(strings.Join(words[:n], " "), form) {
			if n--; n == 0 {
				return nil, false
			}
		}
		if lines != nil {
			lines = append(lines, "")
		}
		lines = append(lines, centre(row[:], w)...)
		words = words[n:]
	}
	return lines, true
}

func centre(lines []string, w int) []string {
	out := make([]string, len(lines))
	before := spaces((w - prose.Cells(lines[0])) / 2)
	for i, l := range lines {
		out[i] = before + strings.TrimRight(l, " ")
	}
	return out
}
