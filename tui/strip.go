package tui

import (
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/session"
)

// The glyphs of a strip, from the least to the most important.
const (
	glyphNoData   = ' '
	glyphUnusable = '·'
	glyphStop     = 'o'
	glyphOther    = '~'
	glyphNote     = 'n'
	glyphStep     = 's'
	glyphFeltNow  = '+' // it is not decided yet what was seen then
	glyphFelt     = '!'
	glyphFeltDark = '?' // nothing could be seen then
	glyphShudder  = '▲'
	glyphBoth     = '◆'
	glyphCursor   = '┃'
)

// usableShades are how much of a cell's time was usable: some, half or more, nearly all.
var usableShades = [...]rune{'┄', '╍', '━'}

// stripLegend names the glyphs.
const stripLegend = "▲ shudder  + ! ? felt  ◆ both  ~ other  o stop  s step  n note  ━ usable"

// course is what a strip draws: what is known of a part of the drive.
type course struct {
	spans        []detect.Span
	events       []detect.Event
	stops        []detect.Stop
	observations []detect.Observation
	marks        []session.Mark
	steps        []steps.Step
}

// drawStrip draws one glyph a column of the axis: a shade for the share of its time that was
// usable, and over it what happened there.
func drawStrip(axis timeAxis, c course) []rune {
	out := make([]rune, axis.n)
	shade(out, axis, c.spans)
	for _, s := range c.stops {
		over(out, axis, s.Start, s.End, glyphStop)
	}
	for _, o := range c.observations {
		over(out, axis, o.Start, o.End, glyphOther)
	}
	for _, m := range c.marks {
		if m.Note != "" {
			over(out, axis, m.At, m.At, glyphNote)
		}
	}
	for _, e := range c.events {
		over(out, axis, e.Start, e.End, glyphShudder)
	}
	for i := range c.steps {
		if st := &c.steps[i]; worthARow(st) {
			over(out, axis, st.Start, st.Start, glyphStep)
		}
	}
	for _, m := range c.marks {
		if m.Note == "" {
			over(out, axis, m.At, m.At, feltGlyph(&m))
		}
	}
	return out
}

// feltGlyph says what could be seen when a shake was felt; what the list says of the mark, too.
func feltGlyph(m *session.Mark) rune {
	switch m.Outcome {
	case session.Undecided:
		return glyphFeltNow
	case session.Seen:
		return glyphBoth
	case session.NotJudged:
		return glyphFeltDark
	}
	return glyphFelt
}

func over(out []rune, axis timeAxis, from, to time.Duration, g rune) {
	for i := max(axis.at(from), 0); i < axis.n && i <= axis.at(to); i++ {
		out[i] = g
	}
}

// shade fills the strip with how much of each cell was usable.
func shade(out []rune, axis timeAxis, spans []detect.Span) {
	k := 0
	for i := range out {
		from := axis.first + time.Duration(i)*axis.per
		to := from + axis.per
		for k < len(spans) && spans[k].End <= from {
			k++
		}
		var usable, seen time.Duration
		for j := k; j < len(spans) && spans[j].Start < to; j++ {
			part := min(spans[j].End, to) - max(spans[j].Start, from)
			switch spans[j].Reason {
			case detect.LinkGap:
			case detect.Judged:
				usable, seen = usable+part, seen+part
			default:
				seen += part
			}
		}
		out[i] = shadeGlyph(usable, seen, axis.per)
	}
}

func shadeGlyph(usable, seen, whole time.Duration) rune {
	switch {
	case seen <= 0:
		return glyphNoData
	case usable <= 0:
		return glyphUnusable
	case usable*2 < whole:
		return usableShades[0]
	case usable*10 < whole*9:
		return usableShades[1]
	}
	return usableShades[2]
}
