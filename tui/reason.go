package tui

import (
	"fmt"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// reasonsMost is how many lines the words under the state may take: a finding is shown whole.
const reasonsMost = 4

// In a window narrower than this, cells, every one of the lines is broken, into so many at most.
const narrowReasons, reasonsNarrow = 46, 6

// reasonLines are the lines under the state, at most w cells each: why it is what it is, and
// what to do. A lost link and a finding have more than one.
func reasonLines(s *session.Snapshot, st state, replay bool, w int) []string {
	if w < narrowReasons {
		lines := prose.Wrap(reasonLines(s, st, replay, widestText), w)
		for i := range lines {
			lines[i] = cut(lines[i], w)
		}
		return lines[:min(len(lines), reasonsNarrow)]
	}
	var lines []string
	switch {
	case st == linkLost && replay:
		lines = replayLost(s)
	case st == linkLost, st == connecting && s.Link.Words() != "" && s.Link.Cause != obd.CauseAdapterFound:
		lines = lostLines(&s.Link, w)
	case st == done:
		lines = wrapped(headlineWords(&s.Headline), w, reasonsMost)
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

// reasonLine is the line under a state that has one: why it is what it is.
func reasonLine(s *session.Snapshot, st state, replay bool) string {
	d := &s.Detector
	switch st {
	case connecting:
		return linkReason(s)
	case blindPass:
		return "what is found is hidden until the pass is over"
	case shudder:
		if e := shudderAt(s); replay && e != nil {
			return fmt.Sprintf("%s to %s  swings %s, alarm at %s", prose.Clock(e.Start), prose.Clock(e.End),
				quantity(e.SwingRPM, "rpm"), quantity(e.LimitRPM, "rpm"))
		}
		return fmt.Sprintf("engine speed swings %s at steady throttle, alarm at %s, %s",
			quantity(d.SwingRPM, "rpm"), quantity(d.LimitRPM, "rpm"), quantity(d.SpeedKMH, "km/h"))
	case shaking:
		return "engine speed begins to swing: hold throttle and road speed"
	case surge:
		return surgeLine(d)
	}
	switch {
	case replay:
		return spanReason(s)
	case st == noReadings && s.Check.Running:
		return "code check: engine speed is not read meanwhile"
	case st == noReadings:
		return s.Unread.Words()
	}
	return nowReason(s)
}

// surgeLine is the line under a slow surge, with its frequency where it is known.
func surgeLine(d *detect.State) string {
	text := "slow surge of " + quantity(d.SwingRPM, "rpm")
	if d.SlowHz > 0 {
		text += fmt.Sprintf(", about %.1f Hz", d.SlowHz)
	}
	return text + ": surge or slip control, not shudder"
}

// nowReason is why this moment does or does not show shudder, with its figures.
func nowReason(s *session.Snapshot) string {
	d := &s.Detector
	switch d.Reason {
	case detect.Judged:
		if d.Rate > 0 && d.Rate < detect.EnoughForNone {
			return fmt.Sprintf("quiet so far, but %s readings/s are too few to clear the car (%d needed)", fixed(d.Rate, 1), detect.EnoughForNone)
		}
		if d.SwingRPM >= d.LimitRPM {
			return fmt.Sprintf("steady cruise at %s: swing %s, but no clear wave", quantity(d.SpeedKMH, "km/h"), quantity(d.SwingRPM, "rpm"))
		}
		return fmt.Sprintf("steady cruise at %s: swing below the alarm", quantity(d.SpeedKMH, "km/h"))
	case detect.OutsideBand:
		if known(d.SpeedKMH) {
			return bandSide(d.SpeedKMH)
		}
	case detect.TooFewReadings:
		if d.Rate > 0 {
			return fmt.Sprintf("%s readings/s: at least %s are needed", fixed(d.Rate, 1), fixed(detect.EnoughAtAll, 1))
		}
	}
	return standingLine(d.Reason)
}

// standingLine is the line of a reason where its figures are not known.
func standingLine(r detect.Reason) string {
	if int(r) < len(reasons) && reasons[r].line != "" {
		return reasons[r].line
	}
	return r.Words()
}

// unreadThen are why engine speed was not read at a time that has passed.
var unreadThen = map[session.Unread]string{
	session.UnreadSilent: "engine speed was not read",
	session.UnreadWaits:  "engine speed not read: the car asked to wait",
	session.UnreadOthers: "the car gave no engine speed",
}

// bandSide says why a road speed outside the cruise band does not do. It never asks to drive faster
// than is safe here.
func bandSide(kmh float64) string {
	switch {
	case kmh < 0.5:
		return "stopped"
	case kmh < detect.CruiseFromKMH:
		return fmt.Sprintf("too slow, needs %d km/h", detect.CruiseFromKMH)
	}
	return fmt.Sprintf("too fast, at most %d km/h", detect.CruiseToKMH)
}

// spanReason says why the second at the cursor is usable or not, and from when to when
// that holds.
func spanReason(s *session.Snapshot) string {
	sp, ok := spanAt(s.Replay.Spans, s.Now)
	if !ok {
		return standingLine(s.Detector.Reason)
	}
	text := prose.Clock(sp.Start) + " to " + prose.Clock(sp.End) + "  "
	switch {
	case sp.Reason == detect.LinkGap && 2*session.Within(sp.Start, sp.End, s.Replay.Checks) > sp.End-sp.Start:
		return text + "code check, engine speed not read"
	case sp.Reason == detect.LinkGap:
		return text + unreadThen[s.Unread]
	case sp.Reason == detect.Judged:
		return text + "usable: a swing from " + positive(sp.SmallestRPM, "rpm") + " would show"
	case sp.Reason == detect.OutsideBand:
		return text + fmt.Sprintf("not usable: outside %d to %d km/h", detect.CruiseFromKMH, detect.CruiseToKMH)
	}
	return text + "not usable: " + sp.Reason.Words()
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
