package page

import (
	"fmt"
	"strings"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/losses"
	"github.com/judder-obd/judder/pids/dtc"
)

// fates are the words of what clearing does to something.
var fates = map[losses.Fate]string{
	losses.Goes: "would be cleared: ", losses.Unseen: "would be cleared UNSEEN: ", losses.Stays: "stays: ", losses.Either: "may stay or go: ",
}

// Losses are what clearing would take, a line each.
func Losses(list []losses.Loss) (lines []string) {
	gone := false
	for i := range list {
		gone = gone || list[i].Fate == losses.Goes
		lines = append(lines, fates[list[i].Fate]+lossText(&list[i]))
	}
	if !gone {
		lines = append([]string{"the check found nothing that clearing would remove; the readiness of self-tests and all counts would be lost all the same"}, lines...)
	}
	return lines
}

func lossText(l *losses.Loss) string {
	who := l.ECU.Called()
	further := ""
	if l.ECU.Further() {
		further = ", a further module"
	}
	switch l.Kind {
	case losses.Codes:
		text := l.Code + " " + statesText(l.States) + " (" + who + ")" + further
		if further != "" && !losses.Addressed(l.ECU) {
			text += ", which the request does not address"
		}
		return text
	case losses.UnreadCodes:
		if further != "" {
			return fmt.Sprintf("codes of %s%s, which could not be read (%s)", who, further, listNames(l.Lists))
		}
		return fmt.Sprintf("%s codes, if there are any (%s), which could not be read", listNames(l.Lists), who)
	case losses.Freeze:
		return fmt.Sprintf("the freeze frame of %s (%s)", l.Code, who)
	case losses.FreezePart:
		return fmt.Sprintf("part of the freeze frame of %s (%s), which could not be read", l.Code, who)
	case losses.AnyFreeze:
		return fmt.Sprintf("a freeze frame, if there is one (%s): %s", who, l.Why.Words())
	case losses.AnyTests:
		return fmt.Sprintf("test results or misfire counts (%s): %s", who, l.Why.Words())
	case losses.Readiness:
		return fmt.Sprintf("the readiness of the self-tests that are complete: %d (%s)", l.N, who)
	case losses.Misfires:
		return fmt.Sprintf("misfire counts: %s (%s)", countsText(l.ECU), who)
	}
	return fmt.Sprintf("distance, time and warm-ups since the last clearing: %s (%s)", l.ECU.Cleared.Text(), who)
}

func statesText(states []dtc.State) string {
	var out []string
	for _, s := range states {
		out = append(out, s.String())
	}
	return strings.Join(out, ", ")
}

// countsText are the misfire counts that are not zero, cylinder by cylinder.
func countsText(e *check.ECU) string {
	var out []string
	for i := range e.Tests {
		if t := &e.Tests[i]; t.Counted() {
			out = append(out, fmt.Sprintf("cylinder %d: %.0f", t.Misfires(), t.Value))
		}
	}
	return strings.Join(out, ", ")
}
