package tui

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"judder/detect"
	"judder/obd"
	"judder/prose"
	"judder/session"
)

// state is the one thing the screen says large.
type state uint8

const (
	connecting state = iota
	warmingUp
	notJudged
	learning
	judgedQuiet
	shudder
	slowSwing
	engineStopped
	noReadings
	linkLost
	finished
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
	warmingUp:     {"WARMING UP", "○", moodNeutral, "coolant too cold: the converter does not lock up yet"},
	notJudged:     {"NOT JUDGED", "○", moodNeutral, "this moment can show nothing; the line below says why"},
	learning:      {"LEARNING", "○", moodNeutral, "this car's own scatter of engine speed is being learnt"},
	judgedQuiet:   {"JUDGED, QUIET", "●", moodGood, "steady cruise, swing below the limit"},
	shudder:       {"SHUDDER", "▲", moodAlarm, "engine speed swings over the limit at steady throttle"},
	slowSwing:     {"SLOW SWING", "~", moodWatch, "slower than shudder: surge or slip control"},
	engineStopped: {"ENGINE STOPPED", "o", moodNeutral, "engine speed is zero"},
	noReadings:    {"NO READINGS", "×", moodWatch, "engine speed was not read at this moment"},
	linkLost:      {"LINK LOST", "×", moodWatch, "adapter or car do not answer; tried again by itself"},
	finished:      {"FINISHED", "■", moodNeutral, "the drive is over; the finding stands below"},
}

// stateOf tells the state from a snapshot. In a replay the state is always that of the
// second at the cursor, until it has played to its end.
func stateOf(s *session.Snapshot, replay bool) state {
	if replay {
		sp, ok := spanAt(s.Replay.Spans, s.Now)
		switch {
		case s.Phase == session.Finished:
			return finished
		case session.OpenLoss(s.Losses) != nil:
			return linkLost
		case ok && sp.Reason == detect.LinkGap:
			return noReadings // what was last judged is of another moment
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
			return finished
		}
	}
	switch {
	case s.Detector.Alarmed:
		return shudder
	case s.Detector.Slow:
		return slowSwing
	}
	switch s.Detector.Reason {
	case detect.LinkGap:
		return noReadings
	case detect.Judged:
		return judgedQuiet
	case detect.EngineStopped:
		return engineStopped
	case detect.Cold:
		return warmingUp
	case detect.FloorNotLearnt:
		return learning
	}
	return notJudged
}

// reasons are why a second was not judged, in few words for tables, and what would change
// it, for the line under the state.
var reasons = [...]struct{ short, change string }{
	detect.Judged:          {"judged", ""},
	detect.EngineStopped:   {"engine stopped", ""},
	detect.Starting:        {"engine just started", "judged again after some seconds"},
	detect.Settling:        {"settling", "first seconds after a gap or a stop"},
	detect.Cold:            {"coolant too cold", "no converter lock-up yet, drive on until it is warm"},
	detect.ClosedThrottle:  {"throttle closed", "coasting or braking: a light, steady throttle is judged"},
	detect.ThrottleMoving:  {"throttle moving", "hold it still"},
	detect.SpeedChanging:   {"road speed changing", "hold the speed"},
	detect.OutsideBand:     {"outside the speed band", "judged are " + bandWords},
	detect.RatioStepped:    {"gear or lock-up stepped", "judged again after some seconds"},
	detect.TooFewReadings:  {"too few readings", "fewer lanes give more readings of engine speed"},
	detect.LinkGap:         {"engine speed not read", ""}, // session.Unread says why
	detect.FloorNotLearnt:  {"scatter not learnt yet", "keep driving at a steady speed"},
	detect.NoRoadSpeed:     {"road speed not read", "without it nothing can be judged"},
	detect.ScatterTooLarge: {"too much scatter", "this car's own scatter hides shudder"},
	detect.NotTied:         {"rpm not tied to speed", "power-split or belt gearbox, cannot be judged"},
}

func shortReason(r detect.Reason) string {
	if int(r) < len(reasons) {
		return reasons[r].short
	}
	return "not judged"
}

// reasonLine is the line under a state that has one: why it is what it is.
func reasonLine(s *session.Snapshot, st state, replay bool) string {
	d := &s.Detector
	switch st {
	case connecting:
		return linkReason(s)
	case shudder:
		if e := shudderAt(s); replay && e != nil {
			return fmt.Sprintf("%s to %s  swings %s, limit %s", prose.Clock(e.Start), prose.Clock(e.End),
				quantity(e.SwingRPM, "rpm"), quantity(e.LimitRPM, "rpm"))
		}
		return fmt.Sprintf("engine speed swings %s at steady throttle, limit %s, %s",
			quantity(d.SwingRPM, "rpm"), quantity(d.LimitRPM, "rpm"), quantity(d.SpeedKMH, "km/h"))
	case slowSwing:
		return fmt.Sprintf("engine speed swings slowly, %s: surge or slip control, not shudder", quantity(d.SwingRPM, "rpm"))
	}
	if replay {
		return spanReason(s)
	}
	if st == noReadings && s.Check.Running {
		return "standing check: engine speed is not read meanwhile"
	}
	if st == noReadings {
		return s.Unread.Words()
	}
	if st == judgedQuiet && s.Detector.Rate < detect.EnoughForNone && s.Detector.Rate > 0 {
		return fmt.Sprintf("quiet; at %s readings/s never “no shudder”, %d needed", fixed(s.Detector.Rate, 1), detect.EnoughForNone)
	}
	if st == judgedQuiet {
		return fmt.Sprintf("steady cruise at %s: swing below the limit", quantity(d.SpeedKMH, "km/h"))
	}
	if d.Reason == detect.OutsideBand && known(d.SpeedKMH) {
		return bandSide(d.SpeedKMH)
	}
	return withChange(d.Reason)
}

// unreadThen are why engine speed was not read at a time that has passed.
var unreadThen = map[session.Unread]string{
	session.UnreadSilent: "engine speed was not read",
	session.UnreadWaits:  "engine not read, the car says wait",
	session.UnreadOthers: "engine not read, others are",
}

// bandWords is the band of road speed that is judged.
var bandWords = fmt.Sprintf("%d to %d km/h", detect.CruiseFromKMH, detect.CruiseToKMH)

// bandSide says on which side of that band a road speed lies.
func bandSide(kmh float64) string {
	side := "below"
	if kmh > detect.CruiseToKMH {
		side = "above"
	}
	return quantity(kmh, "km/h") + " is " + side + " the band judged, " + bandWords
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

func withChange(r detect.Reason) string {
	if int(r) >= len(reasons) || reasons[r].change == "" {
		return shortReason(r)
	}
	return reasons[r].short + ": " + reasons[r].change
}

// spanReason says why the second at the cursor was or was not judged, and from when to when
// that held.
func spanReason(s *session.Snapshot) string {
	sp, ok := spanAt(s.Replay.Spans, s.Now)
	if !ok {
		return withChange(s.Detector.Reason)
	}
	text := prose.Clock(sp.Start) + " to " + prose.Clock(sp.End) + "  "
	if sp.Reason == detect.LinkGap {
		if 2*session.Within(sp.Start, sp.End, s.Replay.Checks) > sp.End-sp.Start {
			return text + "standing check, engine not read"
		}
		return text + unreadThen[s.Unread]
	}
	if sp.Reason == detect.Judged {
		return text + "judged: a swing from " + positive(sp.SmallestRPM, "rpm") + " would mostly have been seen"
	}
	if sp.Reason == detect.OutsideBand {
		return text + "not judged: " + sp.Reason.Words()
	}
	return text + "not judged: " + shortReason(sp.Reason)
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
	obd.LinkClosed:  {"no link", "no port open: check the cable or the adapter's address"},
	obd.LinkOpening: {"link opening", "waiting for the adapter to answer"},
	obd.LinkAdapter: {"adapter only", "the adapter answers, the car does not: is the ignition on?"},
	obd.LinkCar:     {"link good", "the car answers, waiting for the first readings"},
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
		text += ", from " + positive(v.SmallestRPM, "rpm") + " it would have been"
	}
	if v.Reason != "" {
		text += ": " + prose.Clean(v.Reason)
	}
	return text
}

// known reports whether v is a number.
func known(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
