// Package triage puts what a code check found in the order in which the trade works: what to do
// first, why, and whose rule it is.
package triage

import (
	"slices"
	"strings"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/pids/dtc"
)

// Of weighs a report. Each line is one rule of rows, with the facts that it speaks of.
func Of(r *check.Report) []check.Advice {
	all := codesOf(r)
	out := []check.Advice{}
	for _, rule := range rules {
		out = append(out, rule(r, all)...)
	}
	return out
}

// rules in order of work: supply, what was not read, communication, engine, then the rest.
var rules = []func(*check.Report, []code) []check.Advice{
	supply, unread, refused, frozen, nameless, cleared, busOff, lostModules, engineCodes, misfireCounts, failedTests, present,
	transmissionCodes, clutch, lamp, permanent, history, silent, front,
}

// code is a trouble code with the ECU that reports it.
type code struct {
	*check.Code
	by     *check.ECU
	parsed dtc.Code
	named  bool // by SAE J2012; else raw bytes, which are of no family
}

func codesOf(r *check.Report) (all []code) {
	for e, c := range r.EachCode() {
		parsed, err := dtc.ParseCode(c.Code)
		all = append(all, code{c, e, parsed, err == nil})
	}
	return all
}

// base is a code without its failure type.
func (c code) base() string {
	if !c.named {
		return c.Code.Code
	}
	return dtc.Code{Number: c.parsed.Number}.String()
}

// in reports whether a code is of a family.
func (c code) in(f family) bool { return c.named && f.has(c.parsed.Number) }

// now reports whether a code may be of the present: failing, pending, or reported in a way that
// does not say more.
func (c code) now() bool {
	switch {
	case c.State == dtc.Stored:
		return !passed(c.by, c.base())
	case c.State == dtc.Permanent:
		return false
	case c.Status != nil:
		return c.Status.MayBeCurrent()
	}
	return c.State == dtc.Current || c.State == dtc.Pending
}

// passed reports whether an ECU keeps a status for a code by which its last test passed and no
// lamp is asked for: stored, and of the past.
func passed(e *check.ECU, base string) bool {
	return slices.ContainsFunc(e.Codes, func(k check.Code) bool {
		c, err := dtc.ParseCode(k.Code)
		return err == nil && dtc.Code{Number: c.Number}.String() == base && k.State == dtc.History &&
			k.Status != nil && k.Status.LastTestPassed() && !k.Status.Has(dtc.LampRequested)
	})
}

func pick(all []code, want func(code) bool) (out []code) {
	for _, c := range all {
		if want(c) {
			out = append(out, c)
		}
	}
	return out
}

// names are the codes, each once.
func names(codes []code) (list []string) {
	for _, c := range codes {
		if !slices.Contains(list, c.Code.Code) {
			list = append(list, c.Code.Code)
		}
	}
	return list
}

// owners are the ECUs of codes, each once.
func owners(codes []code) (list []*check.ECU) {
	for _, c := range codes {
		if !slices.Contains(list, c.by) {
			list = append(list, c.by)
		}
	}
	return list
}

// each writes every code by a pattern, each text once.
func each(codes []code, write func(code) string) string {
	var list []string
	for _, c := range codes {
		if text := write(c); !slices.Contains(list, text) {
			list = append(list, text)
		}
	}
	return strings.Join(list, ", ")
}

func withOwner(c code) string { return c.Code.Code + " (" + c.by.Called() + ")" }
func withState(c code) string { return c.Code.Code + " " + c.State.String() }

func joined(lists []check.List) string {
	var out []string
	for _, l := range lists {
		out = append(out, string(l))
	}
	return strings.Join(out, ", ")
}
