package tui

import (
	"fmt"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/complaint"
)

// needCounts are what was driven of a complaint: "3 passes, 71 s, 2 shook".
func needCounts(n *session.Need) string {
	text := fmt.Sprintf("%d passes, %s", n.Passes, wholeTime(n.Judged))
	if n.Passes == 1 {
		text = "1 pass, " + wholeTime(n.Judged)
	}
	if n.Shudders > 0 {
		text += fmt.Sprintf(", %d shook", n.Shudders)
	}
	return text
}

// wholeTime is a length of time in whole seconds.
func wholeTime(d time.Duration) string {
	if d < time.Minute {
		return fmt.Sprintf("%.0f s", d.Seconds())
	}
	return prose.Duration(d)
}

// needWords are needCounts with what is still needed.
func needWords(n *session.Need, box complaint.Box) string {
	return needCounts(n) + "; " + n.Words(box)
}

// stillNeeded is what is still needed of a complaint that has just been named.
func stillNeeded(n *session.Need) string {
	switch least := wholeTime(session.PassLeast); {
	case n.Beyond:
		return fmt.Sprintf("outside %d to %d km/h nothing can be seen", detect.CruiseFromKMH, detect.CruiseToKMH)
	case n.More == 0:
		return "enough"
	case n.More == 1:
		return "one more pass of " + least
	default:
		return fmt.Sprintf("%d more passes of %s", n.More, least)
	}
}

// needRule adds a line across with what is still needed at the left and what was driven at the right.
func (v *view) needRule(s *sheet) {
	n := &v.snap.Need
	if v.replay || n.Passes == 0 && n.More == 0 && !n.Beyond { // not known yet
		s.rule(v.theme.faint, "", "")
		return
	}
	need, counts := n.Words(v.snap.Complaint), needCounts(n)
	const frame = 10
	if prose.Cells(need)+prose.Cells(counts)+frame > v.w {
		counts = ""
	}
	s.rule(v.theme.faint, need, counts)
}
