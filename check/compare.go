package check

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// Change is something in two checks: a code, a self-test, a test result, a count.
type Change struct {
	ECU  string `json:"ecu"`
	Name string `json:"name,omitempty"` // the computer's
	Code string `json:"code,omitempty"` // or
	Item string `json:"item,omitempty"`
	What string `json:"what"` // new, gone, unchanged, changed, not read
	Was  string `json:"was,omitempty"`
	Is   string `json:"is,omitempty"` // states, as "stored" or "pending, permanent"
	Text string `json:"text,omitempty"`
	Note string `json:"note,omitempty"`
}

// What became of something from one check to the next.
const (
	isNew     = "new"
	isGone    = "gone"
	unchanged = "unchanged"
	changed   = "changed"
	notRead   = "not read"
)

// Notes on whether two checks are of one car, and the word when they are.
const (
	sameCar    = "yes"
	noteNoVIN  = "one of the checks has no identification number (VIN): whether they are of the same car cannot be told"
	noteMasked = "the same kind of car; whether it is the same car cannot be told, because a number is masked (judder check --vin keeps it whole)"
)

// Side is which check one side of a comparison is.
type Side struct {
	File string    `json:"file,omitempty"`
	Time time.Time `json:"time"`
	VIN  string    `json:"vin,omitempty"`
}

// Comparison is two checks side by side.
type Comparison struct {
	Before   Side     `json:"before"`
	After    Side     `json:"after"`
	Reversed bool     `json:"order_reversed,omitempty"` // the second check is the older one
	SameCar  string   `json:"same_car"`                 // yes, cannot tell, or NO with the reason
	Changes  []Change `json:"changes"`                  // of codes
	Others   []Change `json:"others"`                   // of what else the computers keep, only where it changed
	Notes    []string `json:"notes,omitempty"`
}

// Compare says what is new, gone, unchanged and changed from one check to the next. What one
// of them did not read is neither new nor gone: it is told apart.
func Compare(before, after *Report) Comparison {
	c := Comparison{
		Before: Side{Time: before.Time, VIN: before.VIN}, After: Side{Time: after.Time, VIN: after.VIN},
		Changes: []Change{}, Others: []Change{},
	}
	c.car(before, after)
	c.Reversed = after.Time.Before(before.Time)
	if before.Time.Equal(after.Time) && !before.Time.IsZero() {
		c.note("both checks are of the same moment: is this one check given twice?")
	}
	for _, side := range []struct {
		which string
		r     *Report
	}{{"first", before}, {"second", after}} {
		if side.r.BrokeOff != "" {
			c.note("the %s check broke off at %s: what it did not reach is not compared", side.which, side.r.BrokeOff)
		}
	}
	was, is := before.states(), after.states()
	for _, k := range was.order {
		c.Changes = append(c.Changes, before.change(k, after, was.of[k], is.of[k]))
	}
	for _, k := range is.order {
		if _, old := was.of[k]; !old {
			c.Changes = append(c.Changes, before.appeared(k, after, is.of[k]))
		}
	}
	for i := range after.ECUs {
		if e := before.find(after.ECUs[i].ID); e != nil {
			c.Others = append(c.Others, others(e, &after.ECUs[i])...)
		}
	}
	c.Notes = append(c.Notes, clearedNotes(before, after)...)
	c.Notes = append(c.Notes, missingNotes(before, after, "second")...)
	c.Notes = append(c.Notes, missingNotes(after, before, "first")...)
	c.Notes = append(c.Notes, readinessNotes(after)...)
	return c
}

func (c *Comparison) note(format string, args ...any) {
	c.Notes = append(c.Notes, fmt.Sprintf(format, args...))
}

// car compares the identification numbers as far as both are told: a masked one still has
// its first eleven characters.
func (c *Comparison) car(before, after *Report) {
	a, b := before.VIN, after.VIN
	n := toldOfBoth(a, b)
	switch {
	case n == 0:
		c.SameCar = "cannot tell"
		c.Notes = append(c.Notes, noteNoVIN)
	case a[:n] != b[:n]:
		c.SameCar = "NO: two identification numbers"
		c.note("these are two cars: what is called new, gone or changed is the difference between them, no change of either")
	case n < len(a) || n < len(b):
		c.SameCar = "cannot tell"
		c.Notes = append(c.Notes, noteMasked)
	default:
		c.SameCar = sameCar
	}
}

// toldOfBoth is how many first characters of two numbers neither masks.
func toldOfBoth(a, b string) int {
	n := min(len(a), len(b))
	for _, vin := range []string{a, b} {
		if i := strings.IndexByte(vin, '*'); i >= 0 {
			n = min(n, i)
		}
	}
	return n
}

// SameConnection says that both checks were made over one connection, so of one car, whatever
// is masked.
func (c *Comparison) SameConnection() {
	c.SameCar = sameCar
	c.Notes = slices.DeleteFunc(c.Notes, func(n string) bool { return n == noteMasked || n == noteNoVIN })
}

// change is what became of a code that was there before.
func (r *Report) change(k codeKey, after *Report, was, is codeState) Change {
	e := r.find(k.ecu)
	c := Change{ECU: k.ecu, Name: e.label(), Code: k.code, What: unchanged, Was: was.text(), Is: is.text(), Text: was.meaning}
	var reasons []string
	if reason := after.unreadOf(k.ecu, e); reason != "" {
		reasons = append(reasons, reason+" the second time")
	}
	now := after.find(k.ecu)
	if now != nil && len(is.states) > 0 {
		if reason := r.unreadOf(k.ecu, now); reason != "" {
			reasons = append(reasons, reason+" the first time")
		}
	}
	switch note := strings.Join(reasons, "; "); {
	case len(is.states) == 0 && note != "":
		c.What, c.Note = notRead, note
	case len(is.states) == 0:
		c.What = isGone
	case c.Was == c.Is:
	case is.proves(k, was, e) || was.proves(k, is, now):
		c.What, c.Note = changed, note
	default:
		c.What, c.Note = notRead, note
	}
	return c
}

// proves tells whether a state that the other check does not tell of the code is surely not
// there, because its computer told that list whole. A status that both tell is one and the same
// thing, whatever else is in the list.
func (s codeState) proves(k codeKey, other codeState, told *ECU) bool {
	for _, state := range s.states {
		switch {
		case slices.Contains(other.states, state):
		case state == "permanent" || !k.byStatus():
			if became, kept := told.Lists[state]; !kept || became == ListRead {
				return true
			}
		case len(told.Lists.unread()) == 0, slices.ContainsFunc(other.states, func(o string) bool { return o != "permanent" }):
			return true
		}
	}
	return false
}

// byStatus tells a code of service 19, which has one state that its status tells.
func (k codeKey) byStatus() bool { return len(k.code) != len("P0741") }

// appeared is a code that was not there before, or not read.
func (r *Report) appeared(k codeKey, after *Report, is codeState) Change {
	e := after.find(k.ecu)
	c := Change{ECU: k.ecu, Name: e.label(), Code: k.code, What: isNew, Is: is.text(), Text: is.meaning}
	if reason := r.unreadOf(k.ecu, e); reason != "" {
		c.What, c.Note = notRead, reason+" the first time"
	}
	return c
}

// unreadOf tells why this check cannot speak of a computer's codes as the other one does; ""
// when it can.
func (r *Report) unreadOf(ecu string, other *ECU) string {
	e := r.find(ecu)
	if e == nil && (r.Nameless || ecu == "") {
		return "which computer spoke could not be told"
	}
	if e == nil {
		asked := slices.ContainsFunc(r.Modules, func(a Asked) bool { return a.Reply == ecu && !a.Unreachable })
		if other.Module != "" && !asked {
			return "this computer was not asked"
		}
		return "this computer did not answer"
	}
	var lists []string
	for list, became := range other.Lists {
		if became != NotSupported && became != NotTold && e.Lists[list] != ListRead {
			lists = append(lists, list)
		}
	}
	if lists == nil {
		return ""
	}
	slices.Sort(lists)
	return strings.Join(lists, " and ") + " codes were not read"
}

// clearedNotes say that codes were cleared between the checks: a count since then that fell.
func clearedNotes(before, after *Report) (notes []string) {
	for i := range after.ECUs {
		is := &after.ECUs[i]
		was := before.find(is.ID)
		if was == nil {
			continue
		}
		a, b := toldByBoth(was.Cleared, is.Cleared)
		fell := func(a, b *float64) bool { return a != nil && b != nil && *b < *a }
		if a != nil && (fell(a.KM, b.KM) || fell(a.Minutes, b.Minutes) || fell(a.WarmUps, b.WarmUps)) {
			notes = append(notes, fmt.Sprintf("%s: codes were cleared between the two checks (%s since then, %s before); a code that is gone need not be repaired", is.called(), b.text(), a.text()))
		}
	}
	return notes
}

// missingNotes name what one check read and the other did not, where no line of a code says so.
func missingNotes(told, other *Report, time string) (notes []string) {
	for i := range told.ECUs {
		e := &told.ECUs[i]
		add := func(text string) {
			notes = append(notes, fmt.Sprintf("%s: %s the %s time", e.called(), text, time))
		}
		o := other.find(e.ID)
		switch {
		case o == nil && len(e.Codes) == 0:
			add(other.unreadOf(e.ID, e))
		case o == nil:
		case e.frozen() != "" && o.frozen() == "":
			add("freeze frames (" + e.frozen() + " in the other check) were not read")
		}
		if o != nil && e.failed() != "" && o.TestState != ListRead {
			add("test results were not read (failed in the other check: " + e.failed() + ")")
		}
	}
	return notes
}

// failed are the names of the test results that failed.
func (e *ECU) failed() string {
	var list []string
	for i := range e.Tests {
		if t := &e.Tests[i]; t.Outcome == "failed" {
			list = append(list, t.Monitor)
		}
	}
	return strings.Join(list, ", ")
}

// readinessNotes say when an empty list proves little.
func readinessNotes(r *Report) (notes []string) {
	for i := range r.ECUs {
		if open := r.ECUs[i].testsOpen(); open > 0 {
			notes = append(notes, fmt.Sprintf("%s: %d self-tests have not run since codes were cleared; a code that is gone may come back", r.ECUs[i].called(), open))
		}
	}
	return notes
}

type codeKey struct{ ecu, code string }

type codeState struct {
	states  []string
	meaning string
}

func (s codeState) text() string { return strings.Join(s.states, ", ") }

type codeStates struct {
	of    map[codeKey]codeState
	order []codeKey
}

// states joins the states in which each computer tells each code.
func (r *Report) states() codeStates {
	s := codeStates{of: map[codeKey]codeState{}}
	for _, t := range r.told() {
		k := codeKey{t.by.ID, t.Code.Code}
		had, old := s.of[k]
		if !old {
			s.order = append(s.order, k)
		}
		states := append(had.states, t.State)
		slices.Sort(states)
		states = slices.Compact(states)
		slices.Reverse(states) // stored, permanent, pending: the order of no check
		s.of[k] = codeState{states, t.Text}
	}
	return s
}

// find is the computer of a reply header; nil when it said nothing.
func (r *Report) find(id string) *ECU {
	for i := range r.ECUs {
		if r.ECUs[i].ID == id {
			return &r.ECUs[i]
		}
	}
	return nil
}

// label is a computer's name beside its header; "" when it has none.
func (e *ECU) label() string {
	if name := e.called(); name != e.ID {
		return name
	}
	return ""
}
