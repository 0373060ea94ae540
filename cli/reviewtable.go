package cli

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/complaint"
)

// column is one column of the table of shudders.
type column struct {
	head  string
	width int
	of    func(r *session.Result, i int) string
}

// shudderColumns are the table of shudders. The figures are those of the event i.
var shudderColumns = []column{
	{"no", 3, func(_ *session.Result, i int) string { return fmt.Sprint(i + 1) }},
	{"time", 8, func(r *session.Result, i int) string { return prose.Clock(r.Events[i].Start) }},
	{"km/h", 5, func(r *session.Result, i int) string { return whole(r.Events[i].SpeedKMH) }},
	{"rpm", 4, func(r *session.Result, i int) string { return whole(r.Events[i].SwingRPM) }},
	{"Hz", 5, func(r *session.Result, i int) string { return hertzCell(&r.Events[i]) }},
	{"lasted", 7, func(r *session.Result, i int) string { return prose.Duration(r.Events[i].End - r.Events[i].Start) }},
	{"thr %", 6, func(r *session.Result, i int) string { return whole(r.Events[i].ThrottlePct) }},
	{"load %", 7, func(r *session.Result, i int) string { return whole(r.Events[i].LoadPct) }},
	{"°C", 4, func(r *session.Result, i int) string { return whole(r.Events[i].CoolantC) }},
	{"gear", 5, func(r *session.Result, i int) string { return gearCell(r, &r.Events[i]) }},
	{"felt", 7, func(r *session.Result, i int) string { return feltCell(r, i) }},
	{"  ended by", 0, func(r *session.Result, i int) string { return "  " + endedBy(r, &r.Events[i]) }},
}

// shudders adds the table of shudders, of at most room lines: the largest where there are more.
func (p *sheet) shudders(r *session.Result, room int) {
	if len(r.Events) == 0 {
		p.coverage(r, room)
		return
	}
	shown := make([]int, len(r.Events))
	for i := range shown {
		shown[i] = i
	}
	if most := max(room-3, rowsLeast); len(shown) > max(room-2, rowsLeast) { // a blank line, the head, and what is left out
		slices.SortStableFunc(shown, func(a, b int) int { return cmp.Compare(r.Events[b].SwingRPM, r.Events[a].SwingRPM) })
		shown = shown[:most]
		slices.Sort(shown)
	}
	row := func(cell func(c *column) string) {
		var b strings.Builder
		for i := range shudderColumns {
			c := &shudderColumns[i]
			text := cell(c)
			b.WriteString(strings.Repeat(" ", max(c.width-prose.Cells(text), 0)) + text)
		}
		p.lines = append(p.lines, prose.WrapText(b.String(), max(p.width, 20))[0])
	}
	p.lines = append(p.lines, "")
	row(func(c *column) string { return c.head })
	for _, i := range shown {
		row(func(c *column) string { return c.of(r, i) })
	}
	if len(shown) < len(r.Events) {
		p.lines = append(p.lines, fmt.Sprintf("  the %d largest of %d; --all shows all", len(shown), len(r.Events)))
	}
}

// coverage adds the table of judged time by speed and load, where it fits.
func (p *sheet) coverage(r *session.Result, room int) {
	lines := coverageLines(&r.Cover, r.Complaint)
	if len(lines) > 0 && len(lines)+1 <= room {
		p.lines = append(append(p.lines, ""), lines...)
	}
}

// coverageLines are judged time by road speed and load, with 0 s where it was not driven, from the
// slowest band that was driven or complained of to the fastest.
func coverageLines(c *session.Coverage, box complaint.Box) (lines []string) {
	first, last := -1, -1
	unknown := time.Duration(0)
	for i, row := range c.Rows {
		sum := time.Duration(0)
		for _, d := range row.Judged {
			sum += d
		}
		unknown += row.Judged[session.CoverUnknown]
		if sum > 0 || box.HasSpeed() && box.FromKMH < row.ToKMH && box.ToKMH > row.FromKMH {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	if first < 0 {
		return nil
	}
	head := fmt.Sprintf("  %-16s%10s%10s%10s", "usable, km/h", "light", "medium", "heavy")
	if unknown > 0 {
		head += "  load not read"
	}
	lines = append(lines, head)
	for _, row := range c.Rows[first : last+1] {
		text := fmt.Sprintf("  %-16s", fmt.Sprintf("%.0f to %.0f", row.FromKMH, row.ToKMH))
		for i, d := range row.Judged {
			if i < session.CoverUnknown {
				text += fmt.Sprintf("%10s", briefly(d))
			} else if unknown > 0 {
				text += fmt.Sprintf("%15s", briefly(d))
			}
		}
		lines = append(lines, text)
	}
	return lines
}

// briefly is a length of time in a table; "0 s" for nothing.
func briefly(d time.Duration) string {
	if d == 0 {
		return "0 s"
	}
	return prose.Duration(d)
}

// whole is a figure without its fraction; "-" where it was not read.
func whole(x float64) string {
	if math.IsNaN(x) {
		return "-"
	}
	return fmt.Sprintf("%.0f", x)
}

// hertzCell is the main frequency, with "?" where it may be another.
func hertzCell(e *detect.Event) string {
	switch {
	case len(e.Hz) == 0:
		return "-"
	case e.AnotherHz():
		return fmt.Sprintf("%.1f?", e.Hz[0])
	}
	return fmt.Sprintf("%.1f", e.Hz[0])
}

// gearCell is the gear that was reported in the pass in which a shudder lies.
func gearCell(r *session.Result, e *detect.Event) string {
	for i := range r.Passes {
		if p := &r.Passes[i]; p.Has(e) && p.Gear > 0 {
			return fmt.Sprint(p.Gear)
		}
	}
	return "-"
}

// feltCell is how long after its first swing the shudder i was felt; "no" where others were felt and this
// one was not. A mark in the windows of two shudders is about the later.
func feltCell(r *session.Result, i int) string {
	e, any := &r.Events[i], false
	for k := range r.Marks {
		m := &r.Marks[k]
		any = any || m.Note == ""
		if m.About(e) && (i+1 == len(r.Events) || !m.About(&r.Events[i+1])) {
			return fmt.Sprintf("%+.1f s", tenth((m.At-e.Start).Seconds())+0) // no -0.0
		}
	}
	if any {
		return "no"
	}
	return "-"
}

// endedWithin is how long after its last swing something that ended a shudder is looked for.
const endedWithin = time.Second

// endedBy is what ended a shudder, as far as the drive shows it.
func endedBy(r *session.Result, e *detect.Event) string {
	for i := range r.Steps {
		if s := &r.Steps[i]; s.Belongs(e) && s.Start >= e.End-endedWithin {
			return s.Kind.String()
		}
	}
	for _, s := range r.Spans {
		if s.Start > e.End+endedWithin || s.End < e.End {
			continue
		}
		switch s.Reason {
		case detect.ClosedThrottle, detect.ThrottleMoving, detect.SpeedChanging, detect.RatioStepped, detect.LinkGap, detect.EngineStopped:
			return s.Reason.Words()
		}
	}
	if r.Duration > 0 && e.End >= r.Duration-endedWithin {
		return "end of the drive"
	}
	return "itself"
}
