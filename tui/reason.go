package tui

import (
	"fmt"
	"time"

	"judder/obd"
	"judder/prose"
	"judder/session"
)

// reasonsMost is how many lines the words under the state may take: a finding is shown whole.
const reasonsMost = 4

// reasonLines are the lines under the state, at most w cells each: why it is what it is, and
// what to do. A lost link and a finding have more than one.
func reasonLines(s *session.Snapshot, st state, replay bool, w int) []string {
	var lines []string
	switch {
	case st == linkLost && replay:
		lines = replayLost(s)
	case st == linkLost, st == connecting && s.Link.Words() != "" && s.Link.Cause != obd.CauseAdapterFound:
		lines = lostLines(&s.Link, w)
	case st == done:
		lines = wrapped(findingLine(s.Verdict), w, reasonsMost)
	case st == noReadings && !replay:
		lines = append([]string{reasonLine(s, st, replay)}, noSpeedLines(s, w)...)
	default:
		return wrapped(reasonLine(s, st, replay), w, 2)
	}
	for i := range lines {
		lines[i] = cut(lines[i], w)
	}
	return lines
}

// noSpeedLines are what the set-up found of a car that gives no engine speed.
func noSpeedLines(s *session.Snapshot, w int) []string {
	if s.Unread != session.UnreadOthers || s.Link.Cause != obd.CauseNoSpeed {
		return nil
	}
	return wrapped(prose.Clean(s.Link.Text), w, reasonsMost-1)
}

// lostLines are cause and advice of a lost link. That judder tries again is never cut.
func lostLines(l *session.Link, w int) []string {
	cause, todo := l.Reason.Words()
	cause, todo = prose.Clean(cause), prose.Clean(todo)
	if cause == "" {
		cause = "the adapter or the car no longer answers"
	}
	if todo == "" {
		todo = "no key needs to be pressed"
	}
	const behind = ", " + session.TryingAgain
	return []string{cut(cause, w-prose.Cells(behind)) + behind, todo}
}

// replayLost are the cause and the length of the loss at the cursor.
func replayLost(s *session.Snapshot) []string {
	l := s.Losses[len(s.Losses)-1]
	for _, whole := range s.Replay.Losses {
		if whole.Start == l.Start {
			l = whole
		}
	}
	return []string{prose.Clean(l.Words()), fmt.Sprintf("nothing was read from %s to %s, %s", prose.Clock(l.Start), prose.Clock(l.End), prose.Duration(l.End-l.Start))}
}

// lossRow is the row of a lost link.
func lossRow(l *session.Loss, now time.Duration) incident {
	text := prose.Duration(l.End-l.Start) + ", " + prose.Clean(l.Words())
	if l.Open {
		text = "so far " + prose.Duration(max(now-l.Start, 0)) + ", " + prose.Clean(l.Words())
	}
	return incident{at: l.Start, what: "link lost", text: text, weight: moodWatch}
}
