package tui

import (
	"math"
	"slices"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session"
)

// state is the one thing the screen says large.
type state uint8

const (
	connecting state = iota
	holdSteady       // the driver can change it
	waiting          // only time can
	tooSlow
	cannotTell
	settlingIn
	quiet
	shudder
	shaking // one look shows a wave; it may become shudder
	surge
	engineStopped
	noReadings
	linkLost
	done
	blindPass
)

// mood is how a state is coloured; its glyph says the same without colour.
type mood uint8

const (
	moodNeutral mood = iota
	moodGood
	moodWatch
	moodAlarm
	moodCount
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
	holdSteady:    {"HOLD STEADY", "○", moodNeutral, "shudder shows only at steady throttle and road speed"},
	waiting:       {"WAIT", "○", moodNeutral, "this moment cannot show shudder; the line below says why"},
	tooSlow:       {"TOO SLOW TO CLEAR", "○", moodNeutral, "too few readings a second to see anything"},
	cannotTell:    {"CANNOT TELL", "○", moodNeutral, "this car cannot show shudder now; the line below says why"},
	settlingIn:    {"SETTLING IN", "○", moodNeutral, "measuring how smooth this car normally runs"},
	quiet:         {"QUIET", "●", moodGood, "steady cruise, swing below the alarm"},
	shudder:       {"SHUDDER", "▲", moodAlarm, "engine speed swings past the alarm at steady throttle"},
	shaking:       {"SHAKING?", "△", moodWatch, "a swing has begun; no alarm yet"},
	surge:         {"SURGE?", "~", moodWatch, "slower than shudder: surge or slip control"},
	engineStopped: {"ENGINE STOPPED", "o", moodNeutral, "engine speed is zero"},
	noReadings:    {"NO READINGS", "×", moodWatch, "engine speed was not read at this moment"},
	linkLost:      {"LINK LOST", "×", moodWatch, "no answer from adapter or car; judder tries again"},
	done:          {"DONE", "■", moodNeutral, "the drive is over; the result is below"},
	blindPass:     {"BLIND PASS", "○", moodNeutral, "what is found is hidden until the pass is over"},
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
	if s.Blind.On {
		return blindPass
	}
	switch {
	case s.Detector.Alarmed:
		return shudder
	case s.Detector.Shaking:
		return shaking
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
	detect.Judged:         {quiet, ""},
	detect.EngineStopped:  {engineStopped, ""},
	detect.Starting:       {waiting, "engine just started: wait some seconds"},
	detect.Settling:       {waiting, "just started reading: wait some seconds"},
	detect.ClosedThrottle: {holdSteady, "foot off: press lightly and hold"},
	detect.ThrottleMoving: {holdSteady, "throttle moving: hold it still"},
	detect.SpeedChanging:  {holdSteady, "road speed changing: hold the speed"},
	detect.OutsideBand:    {waiting, ""},
	detect.RatioStepped:   {waiting, "gear or converter clutch changed: wait 4 s"},
	detect.TooFewReadings: {tooSlow, ""},
	detect.LinkGap:        {noReadings, ""}, // session.Unread says why
	detect.FloorNotLearnt: {settlingIn, "measuring how smooth this car runs: hold speed 10 s"},
	detect.NoRoadSpeed:    {cannotTell, "road speed not read: without it shudder cannot be seen"},
	detect.NotTied:        {cannotTell, "no fixed gear (hybrid or belt gearbox)"},
	detect.LoadNotLearnt:  {settlingIn, "measuring how smooth this car runs under this load"},
}

// shudderAt is the shudder of a replay at the cursor; nil when there is none.
func shudderAt(s *session.Snapshot) *detect.Event {
	for i := range s.Replay.Events {
		if e := &s.Replay.Events[i]; e.Start <= s.Now && s.Now < e.End {
			return e
		}
	}
	return nil
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

// known reports whether v is a number.
func known(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
