package compare

import (
	"fmt"
	"strings"

	"github.com/judder-obd/judder/check"
)

// Time is the first or the second of two checks.
type Time string

// The times.
const (
	First  Time = "first"
	Second Time = "second"
)

// ReasonKind is why a check does not speak of a code.
type ReasonKind string

// The reasons.
const (
	NoNames     ReasonKind = "no names" // the adapter hides who answers
	NotAsked    ReasonKind = "not asked"
	NoAnswer    ReasonKind = "no answer"
	ListsUnread ReasonKind = "lists not read"
)

// Reason is why one of two checks does not speak of a code.
type Reason struct {
	Kind  ReasonKind   `json:"kind"`
	Lists []check.List `json:"lists,omitempty"`
	Time  Time         `json:"check"`
}

// String is the reason in words.
func (r *Reason) String() string {
	return r.short() + " the " + string(r.Time) + " time"
}

func (r *Reason) short() string {
	switch r.Kind {
	case NoNames:
		return "the adapter hid which control unit answered"
	case NotAsked:
		return "this control unit was not asked"
	case NoAnswer:
		return "this control unit did not answer"
	}
	return listNames(r.Lists, " and ") + " codes were not read"
}

func listNames(lists []check.List, between string) string {
	var out []string
	for _, l := range lists {
		out = append(out, string(l))
	}
	return strings.Join(out, between)
}

// NoteKind is what a note says.
type NoteKind uint8

// The notes.
const (
	SameMoment    NoteKind = iota
	BrokeOff               // at a step of one check
	NoVIN                  // in one of the checks
	MaskedVIN              // in one of the checks
	NotOneCar              // but two
	WereCleared            // between the checks
	NotThere               // an ECU without codes that one check did not read
	FreezesUnread          // of one check
	TestsUnread            // of one check, which failed in the other
	TestsOpen              // N self-tests in the second check
)

// Note is what else has to be known of a comparison.
type Note struct {
	Kind        NoteKind
	Time        Time
	ECU         *check.ECU
	At          *check.Note
	Why         Reason
	Was, Is     *check.Cleared
	N           int
	Codes       []string // of freeze frames
	TestResults []string // that failed
}

// MarshalText writes the note in words.
func (n Note) MarshalText() ([]byte, error) { return []byte(n.String()), nil }

// String is the note in words.
func (n Note) String() string {
	switch n.Kind {
	case SameMoment:
		return "both checks are of the same moment: is this one check given twice?"
	case BrokeOff:
		return fmt.Sprintf("the %s check stopped early (%s): what it did not reach is not compared", n.Time, n.At.Words())
	case NoVIN:
		return "same car not compared: a check has no identification number (VIN)"
	case MaskedVIN:
		return "same car not compared: a number is hidden, and the rest of it fits (judder check --vin keeps it whole)"
	case NotOneCar:
		return "these are two cars: new, gone and changed is how they differ, not what changed in one of them"
	}
	who := n.ECU.Called() + ": "
	switch n.Kind {
	case WereCleared:
		return who + fmt.Sprintf("codes were cleared between the two checks (%s since then, %s before); a code that is gone need not be repaired", n.Is.Text(), n.Was.Text())
	case NotThere:
		return who + n.Why.String()
	case FreezesUnread:
		return who + fmt.Sprintf("freeze frames (%s in the other check) were not read the %s time", frozenText(n.Codes), n.Time)
	case TestsUnread:
		return who + fmt.Sprintf("test results were not read (failed in the other check: %s) the %s time", strings.Join(n.TestResults, ", "), n.Time)
	}
	return who + fmt.Sprintf("self-tests that have not run since codes were cleared: %d; a code that is gone may come back", n.N)
}

// cleared notes that codes were cleared between the checks: a count since then fell.
func cleared(before, after *check.Report) (notes []Note) {
	for i := range after.ECUs {
		is := &after.ECUs[i]
		was := before.Find(is.ID)
		if was == nil {
			continue
		}
		a, b := ofBoth(was.Cleared, is.Cleared)
		fell := func(a, b *float64) bool { return a != nil && b != nil && *b < *a }
		if a != nil && (fell(a.KM, b.KM) || fell(a.Minutes, b.Minutes) || fell(a.WarmUps, b.WarmUps)) {
			notes = append(notes, Note{Kind: WereCleared, ECU: is, Was: a, Is: b})
		}
	}
	return notes
}

// missing names what one check read and the other, made at a time, did not, where no line of a
// code says so.
func missing(read, other *check.Report, time Time) (notes []Note) {
	for i := range read.ECUs {
		e := &read.ECUs[i]
		o := other.Find(e.ID)
		if o == nil {
			if why, ok := unread(other, e, time); ok && len(e.Codes) == 0 {
				notes = append(notes, Note{Kind: NotThere, ECU: e, Why: why})
			}
			continue
		}
		if e.FreezeState.Kind == check.Read && o.FreezeState.Kind != check.Read {
			notes = append(notes, Note{Kind: FreezesUnread, ECU: e, Codes: frozen(e), Time: time})
		}
		if failed := failed(e); failed != nil && o.TestState.Outcome.Kind != check.Read {
			notes = append(notes, Note{Kind: TestsUnread, ECU: e, TestResults: failed, Time: time})
		}
	}
	return notes
}

// failed are the names of the test results that failed.
func failed(e *check.ECU) (list []string) {
	for i := range e.Tests {
		if t := &e.Tests[i]; t.Outcome == check.Failed {
			list = append(list, t.Monitor)
		}
	}
	return list
}

// testsOpen notes when an empty list proves little.
func testsOpen(r *check.Report) (notes []Note) {
	for i := range r.ECUs {
		if open := r.ECUs[i].TestsOpen(); open > 0 {
			notes = append(notes, Note{Kind: TestsOpen, ECU: &r.ECUs[i], N: open})
		}
	}
	return notes
}
