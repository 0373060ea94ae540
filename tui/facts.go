package tui

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// facts are the lines at the right of the chart, each at most l.side cells: what would
// show now and what was found, then, where there is room, why the drive was not usable.
func (p *pictures) facts(v *view, l layout) []string {
	s := &v.snap
	room := l.chart + 2
	fact := func(what, value string) string {
		return "  " + v.theme.faint.on(left(what, 12)) + right(value, 9)
	}
	if l.chart == 0 {
		counts := fmt.Sprintf("%d seen %d felt", len(s.Events), countFelt(s.Marks))
		return []string{"  " + left(prose.Duration(s.Detector.Judged), 9) + right(counts, 13), p.slipFact(v)}
	}
	lines := []string{
		fact("usable", prose.Duration(s.Detector.Judged)),
		fact("shudder seen", fmt.Sprint(len(s.Events))),
		fact("felt marks", fmt.Sprint(countFelt(s.Marks))),
	}
	if room > len(lines) {
		lines = append(lines, fact("steady for", prose.Duration(s.Detector.SteadyFor)))
	}
	if room > len(lines) {
		lines = append(lines, p.slipFact(v))
	}
	if l.side < wideSide {
		return lines
	}
	if free := room - len(lines) - 2; free >= 1 {
		lines = append(append(lines, ""), p.reasonTable(v, free)...)
	}
	return lines
}

// slipFact is estimated slip where it is larger than its uncertainty; else, in faint ink, its upper
// bound, or a dash.
func (p *pictures) slipFact(v *view) string {
	a := &v.snap.Apparent
	name, ink := "  "+v.theme.faint.on(left(plainName(session.LaneApparent), 12)), v.theme.faint
	switch {
	case !known(a.SlipRPM) || !(a.PlusMinusRPM > 0) || !known(a.PlusMinusRPM):
		return name + ink.on(right(dash, 9))
	case a.Sharp():
		return name + right(amount(a.SlipRPM, "rpm")+" ± "+amount(a.PlusMinusRPM, "rpm"), 9)
	}
	return name + ink.on(right("under "+amount(max(a.SlipRPM, 0)+a.PlusMinusRPM, "rpm"), 9))
}

// showsFrom are the words for the smallest swing that would show now.
func showsFrom(s *session.Snapshot) string {
	return "would show from " + right(positive(s.Detector.SmallestRPM, "rpm"), 7)
}

// reasonTable is how the time of the drive was spent, the longest first, n rows at most.
func (p *pictures) reasonTable(v *view, n int) []string {
	spans := v.snap.Spans
	if v.replay {
		spans = v.snap.Replay.Spans
	}
	var total [len(reasons)]time.Duration
	for _, sp := range spans {
		if int(sp.Reason) < len(total) {
			total[sp.Reason] += sp.End - sp.Start
		}
	}
	order := make([]detect.Reason, 0, len(total))
	for r := range total {
		if total[r] > 0 && detect.Reason(r) != detect.Judged {
			order = append(order, detect.Reason(r))
		}
	}
	slices.SortStableFunc(order, func(a, b detect.Reason) int { return cmp.Compare(total[b], total[a]) })
	var lines []string
	for i, r := range order {
		if i == n {
			break
		}
		lines = append(lines, "  "+left(r.Words(), 24)+right(prose.Duration(total[r]), 10))
	}
	if len(lines) == 0 {
		return nil
	}
	return append([]string{"  " + v.theme.faint.on("not usable because")}, lines...)
}
