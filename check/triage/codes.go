package triage

import (
	"fmt"
	"slices"
	"strings"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/pids/dtc"
)

func engineCodes(_ *check.Report, all []code) []check.Advice {
	now := pick(all, func(c code) bool { return engine(c) && c.now() })
	if len(now) == 0 {
		return nil
	}
	rule := RuleEngine
	if slices.ContainsFunc(now, func(c code) bool { return c.in(misfireFamily) }) {
		rule = RuleMisfire
	}
	return one(advise(rule, names(now), owners(now)))
}

func misfireCounts(r *check.Report, _ []code) []check.Advice {
	var counts []string
	var who []*check.ECU
	for i := range r.ECUs {
		e := &r.ECUs[i]
		for k := range e.Tests {
			if t := &e.Tests[k]; t.Counted() {
				counts = append(counts, fmt.Sprintf("cylinder %d: %.0f", t.Misfires(), t.Value))
				if !slices.Contains(who, e) {
					who = append(who, e)
				}
			}
		}
	}
	if counts == nil {
		return nil
	}
	return one(advise(RuleCounts, nil, who, "{counts}", strings.Join(counts, ", ")))
}

// workOrder is the order in which codes that are present are worked on.
var workOrder = []dtc.State{dtc.Current, dtc.Stored, dtc.Untested, dtc.History, dtc.Pending}

func present(_ *check.Report, all []code) []check.Advice {
	now := pick(all, func(c code) bool {
		return c.now() && !lost(c) && !bus(c) && !engine(c) && !c.in(transmissionFamily) && !c.in(clutchFamily)
	})
	if len(now) == 0 {
		return nil
	}
	slices.SortStableFunc(now, func(a, b code) int { return slices.Index(workOrder, a.State) - slices.Index(workOrder, b.State) })
	return one(advise(RulePresent, names(now), owners(now), "{placed}", each(now, withOwner)))
}

// ofTransmission is the code that says no more than that the transmission's ECU has its own.
var ofTransmission = runs("P0700")

func transmissionCodes(_ *check.Report, all []code) []check.Advice {
	now := pick(all, func(c code) bool { return c.in(transmissionFamily) && !c.in(clutchFamily) && c.now() })
	if len(now) == 0 {
		return nil
	}
	but := ""
	if slices.ContainsFunc(now, func(c code) bool { return c.in(ofTransmission) }) {
		but = "; P0700 only says that the transmission control unit has codes of its own: read those"
	}
	return one(advise(RuleTransmission, names(now), owners(now), "{but}", but))
}

// clutch is for the converter clutch and what controls it, now and in the past.
func clutch(_ *check.Report, all []code) (out []check.Advice) {
	codes := pick(all, func(c code) bool { return c.in(clutchFamily) })
	now := pick(codes, code.now)
	past := pick(codes, func(c code) bool {
		return c.State != dtc.Permanent && c.State != dtc.Untested && !slices.ContainsFunc(now, func(n code) bool { return n.base() == c.base() })
	})
	if len(now) > 0 {
		out = append(out, advise(RuleLockUpClutch, names(now), owners(now)))
	}
	if len(past) > 0 {
		out = append(out, advise(RuleClutchPast, names(past), owners(past), "{stated}", each(past, withState)))
	}
	return out
}

func permanent(_ *check.Report, all []code) []check.Advice {
	codes := pick(all, func(c code) bool { return c.State == dtc.Permanent })
	if len(codes) == 0 {
		return nil
	}
	return one(advise(RulePermanent, names(codes), owners(codes)))
}

// history is for codes of the past, and for those of which nobody knows whether they are.
func history(_ *check.Report, all []code) (out []check.Advice) {
	old := pick(all, func(c code) bool { return c.Past() })
	if len(old) > 0 {
		out = append(out, advise(RuleHistory, names(old), owners(old)))
	}
	if lostOld := pick(old, lost); len(lostOld) > 0 {
		out = append(out, advise(RuleLostPast, names(lostOld), owners(lostOld)))
	}
	if either := pick(all, func(c code) bool { return c.Unclear() }); len(either) > 0 {
		out = append(out, advise(RuleUnclear, names(either), owners(either), "{placed}", each(either, withOwner)))
	}
	return out
}

// manyPast is how many history codes of lost communication make a pattern.
const manyPast = 3

func front(_ *check.Report, all []code) []check.Advice {
	airy := pick(all, func(c code) bool { return c.in(frontFamily) })
	old := pick(all, func(c code) bool { return lost(c) && c.Past() })
	if len(airy) == 0 || len(old) < manyPast {
		return nil
	}
	a := advise(RuleFront, names(airy), owners(airy), "{n}", fmt.Sprint(len(old)))
	a.Hint = true
	return one(a)
}
