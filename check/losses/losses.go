// Package losses lists what clearing codes would take from a car, by a report: what was seen,
// what nobody has read, and what would stay.
package losses

import (
	"slices"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/pids/dtc"
)

// Fate is what clearing does to something.
type Fate uint8

// The fates. A request to clear goes to the emission-related ECUs (SAE J1979): further modules
// may keep their codes.
const (
	Goes   Fate = iota
	Unseen      // goes, and the check could not read it
	Stays
	Either
)

// Kind is a kind of thing that an ECU may lose.
type Kind uint8

// The kinds.
const (
	Codes       Kind = iota // one code in its States
	UnreadCodes             // whatever is in the Lists
	Freeze                  // the freeze frame of Code
	FreezePart              // the part of it that was not read
	AnyFreeze               // whether there is one is not known
	AnyTests                // the same of test results and misfire counts
	Readiness               // of N self-tests
	Misfires                // counts
	Counters                // distance, time and warm-ups since the last clearing
)

// Loss is one thing that clearing takes or leaves.
type Loss struct {
	Fate   Fate
	Kind   Kind
	ECU    *check.ECU
	Code   string
	States []dtc.State
	Lists  []check.List
	N      int
	Why    check.Note // why it was not read
}

// Of lists what clearing would do to all that a report knows of: first what goes, then what
// goes unseen, what stays, and what may do either.
func Of(r *check.Report) []Loss {
	var out []Loss
	for c := range r.Codes() {
		out = append(out, ofCode(&c)...)
	}
	for i := range r.ECUs {
		e := &r.ECUs[i]
		if open := e.Lists.Unread(); e.Further() && open != nil {
			out = append(out, Loss{Fate: Either, Kind: UnreadCodes, ECU: e, Lists: open})
		}
		if !e.Further() {
			out = append(out, besides(e)...)
		}
	}
	slices.SortStableFunc(out, func(a, b Loss) int { return int(a.Fate) - int(b.Fate) })
	return out
}

// Whole reports whether nothing would go unseen.
func Whole(list []Loss) bool {
	return !slices.ContainsFunc(list, func(l Loss) bool { return l.Fate == Unseen })
}

// Addressed reports whether a request to clear is sent to an ECU's own address: on 11 bits to
// 7E0 to 7E7, which reply with 7E8 to 7EF (ISO 15765-4).
func Addressed(e *check.ECU) bool { return len(e.ID) != 3 || e.ID >= "7E8" && e.ID <= "7EF" }

// ofCode parts the states of a code: permanent ones stay.
func ofCode(c *check.Stated) (out []Loss) {
	permanent := func(s dtc.State) bool { return s == dtc.Permanent }
	if slices.ContainsFunc(c.States, permanent) {
		out = append(out, Loss{Fate: Stays, Kind: Codes, ECU: c.ECU, Code: c.Code, States: []dtc.State{dtc.Permanent}})
	}
	if lost := slices.DeleteFunc(slices.Clone(c.States), permanent); len(lost) > 0 {
		fate := Goes
		if c.ECU.Further() {
			fate = Either
		}
		out = append(out, Loss{Fate: fate, Kind: Codes, ECU: c.ECU, Code: c.Code, States: lost})
	}
	return out
}

// besides is what an ECU would lose besides its codes.
func besides(e *check.ECU) (out []Loss) {
	add := func(l Loss) {
		l.ECU = e
		out = append(out, l)
	}
	for _, f := range e.Freezes {
		add(Loss{Kind: Freeze, Code: f.Code})
		if f.Cut {
			add(Loss{Fate: Unseen, Kind: FreezePart, Code: f.Code})
		}
	}
	if e.FreezeState.Kind != check.Read {
		add(Loss{Fate: Unseen, Kind: AnyFreeze, Why: check.Note{Outcome: e.FreezeState}})
	}
	open := slices.DeleteFunc(e.Lists.Unread(), func(l check.List) bool { return l == check.ListPermanent }) // they stay
	if len(open) > 0 {
		add(Loss{Fate: Unseen, Kind: UnreadCodes, Lists: open})
	}
	if why := e.TestState; why.Outcome.Kind != check.Read && why.Outcome.Kind != check.NotAsked {
		add(Loss{Fate: Unseen, Kind: AnyTests, Why: why})
	}
	if done := len(e.Readiness) - e.TestsOpen(); done > 0 {
		add(Loss{Kind: Readiness, N: done})
	}
	if slices.ContainsFunc(e.Tests, func(t check.TestResult) bool { return t.Counted() }) {
		add(Loss{Kind: Misfires})
	}
	if e.Cleared != nil && *e.Cleared != (check.Cleared{}) {
		add(Loss{Kind: Counters})
	}
	return out
}
