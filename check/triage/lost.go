package triage

import (
	"fmt"
	"slices"
	"strings"

	"github.com/judder-obd/judder/check"
)

func busOff(_ *check.Report, all []code) []check.Advice {
	now := pick(all, func(c code) bool { return bus(c) && c.now() })
	if len(now) == 0 {
		return nil
	}
	return one(advise(RuleBusOff, names(now), owners(now), "{placed}", each(now, withOwner)))
}

// accused are the ECUs that a code of lost communication names and that have a standard
// address: reply headers on 11 and 29 bits and source on the older buses (ISO 15765-4, SAE
// J2178; which ECU has the second one is common practice).
var accused = map[string][]string{
	"U0100": {"7E8", "18DAF110", "10"},
	"U0101": {"7E9", "18DAF118", "18"},
}

// accuses reports whether a code names this very ECU.
func accuses(code string, e *check.ECU) bool { return slices.Contains(accused[code], e.ID) }

// answering is the ECU that a code names, when it answered in this check; nil when it did not,
// or nobody knows which one is meant.
func answering(r *check.Report, code string) *check.ECU {
	for i := range r.ECUs {
		if e := &r.ECUs[i]; accuses(code, e) && answered(e) {
			return e
		}
	}
	return nil
}

// answered reports whether an ECU answered anything in this check.
func answered(e *check.ECU) bool {
	for _, became := range e.Lists {
		if became.Kind == check.Read {
			return true
		}
	}
	return len(e.Codes) > 0 || len(e.Readiness) > 0 || len(e.Calibrations) > 0 || e.Name != "" && !e.Further()
}

// manyLost is how many modules one ECU must have lost, all alone, to be looked at itself.
const manyLost = 3

// lostModules is for codes of lost communication: one line for an ECU that alone has lost many,
// else one for each code.
func lostModules(r *check.Report, all []code) (out []check.Advice) {
	now := pick(all, func(c code) bool { return lost(c) && c.now() })
	var order []string
	reporters := map[string][]*check.ECU{} // of each code
	for _, c := range now {
		if reporters[c.base()] == nil {
			order = append(order, c.base())
		}
		if !slices.Contains(reporters[c.base()], c.by) {
			reporters[c.base()] = append(reporters[c.base()], c.by)
		}
	}
	alone := map[*check.ECU][]string{} // codes that one ECU alone reports
	for _, code := range order {
		if who := reporters[code]; len(who) == 1 && !accuses(code, who[0]) {
			alone[who[0]] = append(alone[who[0]], code)
		}
	}
	done := map[*check.ECU]bool{}
	for _, code := range order {
		by := reporters[code][0]
		if !slices.Contains(alone[by], code) || len(alone[by]) < manyLost {
			out = append(out, lostOne(r, code, reporters[code], now))
			continue
		}
		if !done[by] {
			out = append(out, cutOff(r, by, alone[by]))
		}
		done[by] = true
	}
	return out
}

// cutOff is the advice for one ECU that has lost many others.
func cutOff(r *check.Report, by *check.ECU, codes []string) check.Advice {
	but := ""
	if !slices.ContainsFunc(r.ECUs, func(e check.ECU) bool { return e.Further() && e.ID != by.ID && len(e.Lists) > 0 }) {
		but = "; only engine and gearbox were asked besides, and others may have lost them as well"
	}
	for _, code := range codes {
		if e := answering(r, code); e != nil && e != by {
			but += "; " + e.Called() + ", which " + code + " names, answers now"
		}
	}
	return advise(RuleCutOff, codes, []*check.ECU{by}, "{n}", fmt.Sprint(len(codes)), "{but}", but)
}

// lostOne is the advice for one code and those that report it.
func lostOne(r *check.Report, name string, by []*check.ECU, now []code) check.Advice {
	codes := []string{name}
	who := slices.DeleteFunc(slices.Clone(by), func(e *check.ECU) bool { return accuses(name, e) })
	if len(who) == 0 {
		return advise(RuleLostItself, codes, by[:1])
	}
	if e := answering(r, name); e != nil {
		return advise(RuleLostAnswers, codes, who, "{named}", e.Called())
	}
	what := "the module that " + name + " names"
	if i := slices.IndexFunc(now, func(c code) bool { return c.base() == name && c.Text != "" }); i >= 0 {
		what = "what " + name + " names (" + now[i].Text + ")"
	}
	var called []string
	for _, e := range who {
		called = append(called, e.Called())
	}
	return advise(RuleLost, codes, who, "{what}", what, "{who}", strings.Join(called, " or "))
}
