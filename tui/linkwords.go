package tui

import (
	"fmt"
	"strings"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// linkWord is how many readings of engine speed come a second, or the state of the link.
func linkWord(s *session.Snapshot) string {
	if l := findLane(s, pids.RPM); l != nil && s.Link.State == obd.LinkCar && l.Rate > 0 {
		return fixed(l.Rate, 0) + " readings/s"
	}
	return linkShort(s.Link.State)
}

// linkHealth is how many requests the car answered and how, in words.
func linkHealth(l *session.Link) string {
	if l.Exchanges == 0 {
		return "link: " + dash
	}
	text := fmt.Sprintf("link: %d answered, %d unanswered", l.Exchanges-l.Silent-l.Waited, l.Silent)
	if l.Waited > 0 {
		text += fmt.Sprintf(", %d “wait”", l.Waited)
	}
	text += fmt.Sprintf(", %d damaged", l.Damaged)
	if l.HostShare > 0 {
		text += fmt.Sprintf(", own share %.1f ms", float64(l.HostShare)/float64(time.Millisecond))
	}
	return text
}

// linkWords say what the state of the link means and what to do.
var linkWords = [...]struct{ short, todo string }{
	obd.LinkClosed:  {"no link", "no port is open: check the cable or the adapter's address"},
	obd.LinkOpening: {"opening port", "waiting for the adapter to answer"},
	obd.LinkAdapter: {"adapter only", "the adapter answers, the car does not: ignition on?"},
	obd.LinkCar:     {"car answers", "the car answers, waiting for the first readings"},
}

func linkShort(l obd.LinkState) string {
	if int(l) < len(linkWords) {
		return linkWords[l].short
	}
	return "link " + dash
}

func linkReason(s *session.Snapshot) string {
	if t := strings.TrimSpace(s.Link.Text); t != "" {
		return prose.Clean(t)
	}
	if int(s.Link.State) < len(linkWords) {
		return linkWords[s.Link.State].todo
	}
	return dash
}
