package session

import (
	"math"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/session/chance"
)

// FeltOutcome is what became of a felt mark: the one answer to one press, on the screen, in the review and
// in JSON.
type FeltOutcome uint8

// The outcomes.
const (
	Undecided FeltOutcome = iota // too early to say
	Seen                         // shudder was seen then, or a shake that a release of the converter clutch stopped
	NotSeen                      // engine speed was steady
	NotJudged                    // shudder could not be seen then
)

// DarkReason is why shudder could not be seen at a mark.
type DarkReason = detect.Reason

// outcomeNames are the outcomes as JSON has them.
var outcomeNames = [...]string{Undecided: "", Seen: "seen", NotSeen: "not seen", NotJudged: "not judged"}

// String is the outcome for machines: "seen", "not seen", "not judged"; "" while it is open.
func (o FeltOutcome) String() string { return outcomeNames[o] }

// Answer is what became of a felt mark, for a person.
func (m *Mark) Answer() string {
	switch m.Outcome {
	case Seen:
		return "felt and seen"
	case NotSeen:
		return "felt, engine speed steady"
	case NotJudged:
		return "felt, nothing could be seen: " + m.Why.Words()
	}
	return "felt; not decided yet"
}

// A mark is about a shudder when it lies in its window, from half a second before its first swing to
// three seconds after its last: people press late, seldom early (common practice, no source). Chance
// is counted with the same windows.
const (
	WindowBefore = 500 * time.Millisecond
	WindowAfter  = 3 * time.Second
)

// decidedAfter is how long after a moment shudder at it may still be listed.
const decidedAfter = 4 * time.Second

// About reports whether a felt mark is about an event.
func (m *Mark) About(e *detect.Event) bool {
	return m.Note == "" && m.At+m.Lasted >= e.Start-WindowBefore && m.At <= e.End+WindowAfter
}

// shakeBefore is how long before the release that stops it a shake may be felt: it is then too short to
// be listed as a shudder (chosen; a foot takes about as long).
const shakeBefore = time.Second

// stoppedBy reports whether a felt mark is about a shake that a release of the converter clutch stopped:
// engine speed swung, and the swing went with the release.
func (m *Mark) stoppedBy(s *steps.Step) bool {
	return stopsShake(s) && m.Note == "" && m.At+m.Lasted >= s.Start-shakeBefore && m.At <= s.Start+s.Stopped+WindowAfter
}

// stopsShake reports whether a step is a release of the converter clutch that stopped a shake.
func stopsShake(s *steps.Step) bool {
	return s.Kind == steps.ClutchRelease && s.Fault == steps.Valid && s.Calmed()
}

// seenUpTo is what a drive showed up to now.
type seenUpTo struct {
	events []detect.Event
	spans  []detect.Span
	stops  []detect.Stop
	steps  []steps.Step
	now    time.Duration
	over   bool // the drive is over
}

// settle sets the outcome of the marks.
func (f *seenUpTo) settle(marks []Mark) {
	for i := range marks {
		if m := &marks[i]; m.Note == "" {
			m.Outcome, m.Why = f.outcome(m)
		}
	}
}

// outcome is what became of a felt mark. A moment counts as judged if its first press lies in a
// stretch that was.
func (f *seenUpTo) outcome(m *Mark) (FeltOutcome, detect.Reason) {
	for i := range f.events {
		if m.About(&f.events[i]) {
			return Seen, detect.Judged
		}
	}
	for i := range f.steps {
		if m.stoppedBy(&f.steps[i]) {
			return Seen, detect.Judged
		}
	}
	if !f.over && f.now < m.At+m.Lasted+decidedAfter {
		return Undecided, detect.Judged
	}
	for _, s := range f.stops {
		if m.At >= s.Start && (m.At < s.End || s.End <= s.Start) {
			return NotJudged, detect.EngineStopped
		}
	}
	switch reason := f.reason(m.At); reason {
	case detect.Judged:
		return NotSeen, reason
	default:
		return NotJudged, reason
	}
}

// reason is why a moment was judged or not. The newest is not in the spans yet: it has the reason of
// the last of them, unless nothing was read for some time.
func (f *seenUpTo) reason(at time.Duration) detect.Reason {
	for i := len(f.spans) - 1; i >= 0; i-- {
		s := &f.spans[i]
		switch last := i == len(f.spans)-1; {
		case at < s.Start:
		case at < s.End, last && at < s.End+decidedAfter:
			return s.Reason
		default:
			return detect.LinkGap
		}
	}
	return detect.LinkGap
}

func (a *Analysis) upTo(now time.Duration) seenUpTo {
	d := a.detector
	return seenUpTo{d.Events(), d.Spans(), d.Stops(), a.steps.watch.Found(), now, a.finished}
}

// marked copies the marks to dst, each with its outcome.
func (a *Analysis) marked(dst []Mark, now time.Duration) []Mark {
	dst = append(dst[:0], a.marks.marks...)
	f := a.upTo(now)
	f.settle(dst)
	return dst
}

// BlindState is what the blind passes of a drive gave so far.
type BlindState struct {
	On     bool          // a blind pass lasts
	Passes int           // blind passes, the one that lasts included
	Judged time.Duration // judged in them
	Marks  int           // felt marks made blind in that time
	Hits   int           // of these, marks in the window of a shudder
	Share  float64       // of Judged that the windows cover, 0 to 1
	Chance float64       // of as many hits or more by luck alone; NaN without marks or without time
}

func (a *Analysis) blind() BlindState {
	return a.marks.worth(a.detector.Events(), a.detector.Spans(), a.end)
}

// worth counts what marks made blind are worth up to now: how many lie in the window of a shudder, and how
// likely as many are if they were made at any moment. Only judged time counts, for marks and for
// windows: outside it there is no shudder to hit.
func (k *markBook) worth(events []detect.Event, spans []detect.Span, now time.Duration) BlindState {
	b := BlindState{On: k.open, Passes: len(k.blinds), Chance: math.NaN()}
	if b.Passes == 0 {
		return b
	}
	var covered time.Duration
	for _, s := range spans {
		if s.Reason != detect.Judged {
			continue
		}
		for i, p := range k.blinds {
			if b.On && i == b.Passes-1 {
				p.End = now
			}
			from, to := max(s.Start, p.Start), min(s.End, p.End)
			if from < to {
				b.Judged += to - from
				covered += inWindows(events, from, to)
				b.count(k.marks, events, from, to)
			}
		}
	}
	if b.Judged > 0 {
		b.Share = covered.Seconds() / b.Judged.Seconds()
	}
	if b.Marks > 0 {
		b.Chance = chance.AtLeast(b.Hits, b.Marks, b.Share)
	}
	return b
}

// count adds the blind marks whose first press lies between two times.
func (b *BlindState) count(marks []Mark, events []detect.Event, from, to time.Duration) {
	for i := range marks {
		m := marks[i]
		if m.Note != "" || !m.Blind || m.At < from || m.At >= to {
			continue
		}
		b.Marks++
		m.Lasted = 0 // one moment: the windows cover moments
		for j := range events {
			if m.About(&events[j]) {
				b.Hits++
				break
			}
		}
	}
}

// inWindows is how much of the time between two moments the windows of events cover. Events are in
// order of time.
func inWindows(events []detect.Event, from, to time.Duration) (sum time.Duration) {
	for i := range events {
		start, end := max(events[i].Start-WindowBefore, from), min(events[i].End+WindowAfter, to)
		if end > start {
			sum += end - start
			from = end
		}
	}
	return sum
}
