package tui

import (
	"strings"
	"time"

	"github.com/judder-obd/judder/prose"
)

// drawRuler draws the whole drive on one line, with the cursor.
func (v *view) drawRuler(s *sheet) {
	r := &v.snap.Replay
	from, to := " "+prose.Clock(0)+" ", " "+prose.Clock(r.Length)+" "
	n := v.w - prose.Cells(from) - prose.Cells(to)
	axis := timeAxis{per: max(r.Length/time.Duration(n)+1, 1), n: n}
	glyphs := drawStrip(axis, course{spans: r.Spans, events: r.Events, stops: r.Stops, marks: r.Marks,
		observations: r.Observations, steps: r.Steps})
	if at := axis.at(v.cursor); at >= 0 && at < n {
		glyphs[at] = glyphCursor
	}
	s.line(v.theme.faint.on(from), v.inkStrip(glyphs), v.theme.faint.on(to))
}

// inkStrip colours a strip: its glyphs say the same without.
func (v *view) inkStrip(glyphs []rune) string {
	var b strings.Builder
	for from := 0; from < len(glyphs); {
		to := from + 1
		k := v.glyphInk(glyphs[from])
		for to < len(glyphs) && v.glyphInk(glyphs[to]) == k {
			to++
		}
		b.WriteString(k.on(string(glyphs[from:to])))
		from = to
	}
	return b.String()
}

func (v *view) glyphInk(g rune) ink {
	switch g {
	case glyphShudder, glyphBoth:
		return v.theme.text[moodAlarm]
	case glyphFeltNow, glyphFelt, glyphFeltDark, glyphOther:
		return v.theme.text[moodWatch]
	case glyphCursor, glyphNote, glyphStop, glyphStep:
		return v.theme.strong
	}
	return v.theme.faint
}
