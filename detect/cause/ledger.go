package cause

import "time"

// Cause is one thing that can shake a car in a cruise.
type Cause uint8

// The causes, in the order of the ledger.
const (
	ConverterClutch Cause = iota
	Misfire
	Surge
	Hunting
	Tyre
	Mount

	CauseCount = iota // how many there are
)

var causeWords = [CauseCount]string{
	ConverterClutch: "converter clutch", Misfire: "misfire", Surge: "fuelling surge",
	Hunting: "gear or lock-up hunting", Tyre: "tyre and wheel", Mount: "mount or driveline",
}

// String is the cause's name, for machines and for people.
func (c Cause) String() string {
	if int(c) >= len(causeWords) {
		return "other"
	}
	return causeWords[c]
}

// Side is which way a line speaks.
type Side uint8

// The sides.
const (
	For Side = iota
	Against
	Untested
)

var sideWords = [...]string{For: "for", Against: "against", Untested: "not tested"}

// String is the side's name, for machines and for people.
func (s Side) String() string {
	if int(s) >= len(sideWords) {
		return sideWords[Untested]
	}
	return sideWords[s]
}

// Line is one fact that speaks for or against a cause, or a test that was not made.
type Line struct {
	Cause Cause
	Side  Side
	Rule  Rule
	At    []time.Duration // when; empty where it is of the whole drive
	N, Of int             // so many of so many, where the rule counts
	Value float64         // of the rule's figure, in its unit
	For   time.Duration   // of the rule's time
	Named string          // a code, a signal, or a cylinder
}

// Ledger is all lines in order of cause and side, and what to do next.
type Ledger struct {
	Lines       []Line
	Next        Test
	Frequencies []Frequency // of the events, where engine speed was read often enough
}

// Of returns the lines of a cause on a side.
func (l *Ledger) Of(c Cause, s Side) (lines []Line) {
	for _, x := range l.Lines {
		if x.Cause == c && x.Side == s {
			lines = append(lines, x)
		}
	}
	return lines
}
