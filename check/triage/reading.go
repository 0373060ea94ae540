package triage

import (
	"fmt"
	"slices"
	"strings"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/pids/dtc"
)

// unread keeps an empty list from passing for a good one.
func unread(r *check.Report, _ []code) []check.Advice {
	if r.BrokeOff != nil {
		return one(advise(RuleCheckAgain, nil, nil, "{at}", r.BrokeOff.Words()))
	}
	var who []*check.ECU
	var words []string
	for i := range r.ECUs {
		e := &r.ECUs[i]
		if again, _ := split(e.Lists); again != nil {
			who, words = append(who, e), append(words, e.Called()+" ("+joined(again)+")")
		}
	}
	if who == nil {
		return nil
	}
	return one(advise(RuleReadAgain, nil, who, "{lists}", strings.Join(words, ", ")))
}

// passing are the refusals that asking again may turn into an answer (ISO 14229-1): busy,
// conditions that the driver can set right, and a reply to no reading.
func passing(o check.Outcome) bool {
	switch o.Code {
	case 0x21, 0x22, 0x24, 0x70, 0x71, 0x73:
		return true
	}
	return o.Code >= 0x81 && o.Code <= 0x93 && o.Code != 0x8E
}

// split parts the lists that were not read: those to ask for again, and those refused for good.
func split(l check.Lists) (again, refused []check.List) {
	for _, name := range l.Unread() {
		switch o := l[name]; {
		case o.Kind == check.Mixed: // RuleNameless has what to do
		case o.Kind == check.Refused && !passing(o):
			refused = append(refused, name)
		default:
			again = append(again, name)
		}
	}
	return again, refused
}

// reportedBySome reports whether some ECU reported a list; permanent codes came late, and many
// cars keep none.
func reportedBySome(r *check.Report, name check.List) bool {
	return name == check.ListPermanent || slices.ContainsFunc(r.ECUs, func(e check.ECU) bool { return e.Lists[name].Kind == check.Read })
}

// wrongLength is the refusal of a request that is too short or too long (ISO 14229-1).
const wrongLength = 0x13

// refused is for lists that asking again will not bring. One that is refused as not there is
// believed where nothing speaks for a code.
func refused(r *check.Report, _ []code) (out []check.Advice) {
	for i := range r.ECUs {
		e := &r.ECUs[i]
		_, lists := split(e.Lists)
		but := ""
		switch {
		case lists == nil:
			continue
		case slices.ContainsFunc(lists, func(l check.List) bool { return e.Lists[l].Code == wrongLength }):
			out = append(out, advise(RuleOtherAdapter, nil, []*check.ECU{e}, "{lists}", joined(lists)))
			continue
		case e.CodesCounted > 0:
			but = fmt.Sprintf(", yet it counts %d stored codes", e.CodesCounted)
		case e.Lamp != nil && *e.Lamp:
			but = ", yet it commands the lamp on"
		case !e.Further() && !slices.ContainsFunc(lists, func(l check.List) bool { return !e.Lists[l].Unsupported() || !reportedBySome(r, l) }):
			continue
		}
		out = append(out, advise(RuleRefused, nil, []*check.ECU{e}, "{lists}", joined(lists), "{but}", but))
	}
	return out
}

// frozen is for a freeze frame whose code is in no list.
func frozen(r *check.Report, all []code) (out []check.Advice) {
	for i := range r.ECUs {
		e := &r.ECUs[i]
		for _, f := range e.Freezes {
			if !slices.ContainsFunc(all, func(c code) bool { return c.by == e && (c.base() == f.Code || c.Code.Code == f.Code) }) {
				out = append(out, advise(RuleFreezeAlone, []string{f.Code}, []*check.ECU{e}))
			}
		}
	}
	return out
}

// nameless is for adapters that hide whose reply a line is.
func nameless(r *check.Report, _ []code) []check.Advice {
	if !r.Nameless {
		return nil
	}
	return one(advise(RuleNameless, nil, nil))
}

// lamp is for a lamp that nothing explains.
func lamp(r *check.Report, _ []code) (out []check.Advice) {
	for i := range r.ECUs {
		e := &r.ECUs[i]
		lit := func(k check.Code) bool {
			return k.State != dtc.Pending && k.State != dtc.Permanent && k.State != dtc.Untested
		}
		if e.Lamp != nil && *e.Lamp && !slices.ContainsFunc(e.Codes, lit) && e.Lists.Unread() == nil {
			out = append(out, advise(RuleLamp, nil, []*check.ECU{e}))
		}
	}
	return out
}

// failedTests is for results of service 06 outside their limits.
func failedTests(r *check.Report, _ []code) []check.Advice {
	var failed []string
	var who []*check.ECU
	for i := range r.ECUs {
		e := &r.ECUs[i]
		for k := range e.Tests {
			if t := &e.Tests[k]; t.Outcome == check.Failed {
				failed = append(failed, fmt.Sprintf("%s, %s (%s)", t.Monitor, t.Test, e.Called()))
				if !slices.Contains(who, e) {
					who = append(who, e)
				}
			}
		}
	}
	if failed == nil {
		return nil
	}
	return one(advise(RuleFailedTest, nil, who, "{tests}", strings.Join(failed, "; ")))
}

// silent is for modules that did not answer.
func silent(r *check.Report, _ []code) []check.Advice {
	var modules []string
	for i := range r.Modules {
		if m := &r.Modules[i]; m.Silent() {
			modules = append(modules, m.Called())
		}
	}
	if modules == nil {
		return nil
	}
	return one(advise(RuleSilent, nil, nil, "{modules}", strings.Join(modules, ", ")))
}
