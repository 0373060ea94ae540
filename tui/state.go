package tui

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"judder/detect"
	"judder/obd"
	"judder/pids"
	"judder/prose"
	"judder/session"
)

// state is the one thing the screen says large.
type state uint8

const (
	connecting state = iota
	warmingUp
	holdSteady // the driver can change it
	waiting    // only time can
	tooSlow
	cannotTell
	settlingIn
	quiet
	shudder
	surge
	engineStopped
	noReadings
	linkLost
	done
)

// mood is how a state is coloured; its glyph says the same without colour.
type mood uint8

const (
	moodNeutral mood = iota
	moodGood
	moodWatch
	moodAlarm
)

// states are the words of the screen: the word, its glyph, and what it means, which the
// page of words and keys shows.
var states = [...]struct {
	word    string
	glyph   string
	mood    mood
	meaning string
}{
	connecting:    {"CONNECTING", "…", moodNeutral, "no readings from the car yet"},
	warmingUp:     {"WARMING UP", "○", moodNeutral, "coolant too cold: the converter clutch stays open"},
	holdSteady:    {"HOLD STEADY", "○", moodNeutral, "shudder shows only at steady throttle and road speed"},
	waiting:       {"WAIT", "○", moodNeutral, "this moment cannot show shudder; the line below says why"},
	tooSlow:       {"TOO SLOW TO CLEAR", "○", moodNeutral, "too few readings a second to see anything"},
	cannotTell:    {"CANNOT TELL", "○", moodNeutral, "this car cannot show shudder now; the line below says why"},
	settlingIn:    {"SETTLING IN", "○", moodNeutral, "measuring how smooth this car normally runs"},
	quiet:         {"QUIET", "●", moodGood, "steady cruise, swing below the alarm"},
	shudder:       {"SHUDDER", "▲", moodAlarm, "engine speed swings past the alarm at steady throttle"},
	surge:         {"SURGE?", "~", moodWatch, "slower than shudder: surge or slip control"},
	engineStopped: {"ENGINE STOPPED", "o", moodNeutral, "engine speed is zero"},
	noReadings:    {"NO READINGS", "×", moodWatch, "engine speed was not read at this moment"},
	linkLost:      {"LINK LOST", "×", moodWatch, "no answer from adapter or car; judder tries again"},
	done:          {"DONE", "■", moodNeutral, "the drive is over; the result is below"},
}

// stateOf is the state of a snapshot. In a replay the state is always that of the
// second at the cursor, until it has played to its end.
func stateOf(s *session.Snapshot, replay bool) state {
	if replay {
		sp, ok := spanAt(s.Replay.Spans, s.Now)
		switch {
		case s.Phase == session.Finished:
			return done
		case session.OpenLoss(s.Losses) != nil:
			return linkLost
		case ok && sp.Reason == detect.LinkGap:
			return noReadings // what was last seen is of another moment
		case shudderAt(s) != nil:
			return shudder
		}
	} else {
		switch s.Phase {
		case session.Connecting:
			return connecting
		case session.LinkLost:
			return linkLost
		case session.Finished:
			return done
		}
	}
	switch {
	case s.Detector.Alarmed:
		return shudder
	case s.Detector.Slow:
		return surge
	}
	if r := s.Detector.Reason; int(r) < len(reasons) {
		return reasons[r].state
	}
	return waiting
}

// reasons are the states that follow from what the detector makes of a second, and the line under
// the state where it is always the same.
var reasons = [...]struct {
	state state
	line  string
}{
	detect.Judged:          {quiet, ""},
	detect.EngineStopped:   {engineStopped, ""},
	detect.Starting:        {waiting, "engine just started: wait some seconds"},
	detect.Settling:        {waiting, "just started reading: wait some seconds"},
	detect.Cold:            {warmingUp, ""},
	detect.ClosedThrottle:  {holdSteady, "foot off: press lightly and hold"},
	detect.ThrottleMoving:  {holdSteady, "throttle moving: hold it still"},
	detect.SpeedChanging:   {holdSteady, "road speed changing: hold the speed"},
	detect.OutsideBand:     {waiting, ""},
	detect.RatioStepped:    {waiting, "gear or converter clutch changed: wait 4 s"},
	detect.TooFewReadings:  {tooSlow, ""},
	detect.LinkGap:         {noReadings, ""}, // session.Unread says why
	detect.FloorNotLearnt:  {settlingIn, "measuring how smooth this car runs: hold speed 10 s"},
	detect.NoRoadSpeed:     {cannotTell, "road speed not read: without it shudder cannot be seen"},
	detect.ScatterTooLarge: {cannotTell, "engine runs too rough to see shudder"},
	detect.NotTied:         {cannotTell, "no fixed gear (hybrid or belt gearbox)"},
}

// reasonLine is the line under a state that has one: why it is what it is.
func reasonLine(s *session.Snapshot, st state, replay bool) string {
	d := &s.Detector
	switch st {
	case connecting:
		return linkReason(s)
	case shudder:
		if e := shudderAt(s); replay && e != nil {
			return fmt.Sprintf("%s to %s  swings %s, alarm at %s", prose.Clock(e.Start), prose.Clock(e.End),
				quantity(e.SwingRPM, "rpm"), quantity(e.LimitRPM, "rpm"))
		}
		return fmt.Sprintf("engine speed swings %s at steady throttle, alarm at %s, %s",
			quantity(d.SwingRPM, "rpm"), quantity(d.LimitRPM, "rpm"), quantity(d.SpeedKMH, "km/h"))
	case surge:
		return fmt.Sprintf("slow surge of %s: surge or slip control, not shudder", quantity(d.SwingRPM, "rpm"))
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

// nowReason is why this moment does or does not show shudder, with its figures.
func nowReason(s *session.Snapshot) string {
	d := &s.Detector
	switch d.Reason {
	case detect.Judged:
		if d.Rate > 0 && d.Rate < detect.EnoughForNone {
			return fmt.Sprintf("quiet so far, but %s readings/s are too few to clear the car (%d needed)", fixed(d.Rate, 1), detect.EnoughForNone)
		}
		return fmt.Sprintf("steady cruise at %s: swing below the alarm", quantity(d.SpeedKMH, "km/h"))
	case detect.Cold:
		if l := findLane(s, pids.ECT); l != nil {
			return fmt.Sprintf("coolant at %s of %s: drive on until it is warm", amount(l.Value, l.Unit), quantity(detect.WarmFromC, "°C"))
		}
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

// shudderAt is the shudder of a replay that the cursor stands in; nil when it stands in none.
func shudderAt(s *session.Snapshot) *detect.Event {
	for i := range s.Replay.Events {
		if e := &s.Replay.Events[i]; e.Start <= s.Now && s.Now < e.End {
			return e
		}
	}
	return nil
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

// spanAt finds the span that holds t.
func spanAt(spans []detect.Span, t time.Duration) (detect.Span, bool) {
	i, _ := slices.BinarySearchFunc(spans, t, func(sp detect.Span, t time.Duration) int {
		if sp.End <= t {
			return -1
		}
		return 1
	})
	if i < len(spans) && spans[i].Start <= t {
		return spans[i], true
	}
	return detect.Span{}, false
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

// findings are the verdict on a drive in words.
var findings = [...]string{
	detect.CannotTell: "cannot tell",
	detect.NoShudder:  "no shudder seen",
	detect.Shudder:    "shudder seen",
}

func findingLine(v detect.Verdict) string {
	text := dash
	if int(v.Finding) < len(findings) {
		text = findings[v.Finding]
	}
	if v.Finding == detect.NoShudder {
		text += "; typical smallest visible swing: " + positive(v.SmallestRPM, "rpm")
	}
	if v.Reason != "" {
		text += ": " + prose.Clean(v.Reason)
	}
	return text
}

// known reports whether v is a number.
func known(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
