package check

import (
	"fmt"
	"slices"
	"strings"
)

// practice is the source of rules that no text was found for.
const practice = "common practice, no source"

// Published service procedures and articles behind the rules, as far as they may be named
// without naming a maker.
const (
	publishedOrder = "published transmission diagnosis procedure: other codes first, then transmission codes, then the converter"
	publishedLost  = "published service bulletins on lost-communication codes"
	standardStatus = "ISO 14229-1, status of a trouble code"
	standardPerm   = "SAE J1979, service 0A"
	standardReady  = "SAE J1979, monitor status"
)

// told is a code with the computer that told it.
type told struct {
	*Code
	by *ECU
}

// triage puts what was found in the order in which the trade works.
func triage(r *Report) []Advice {
	all := r.told()
	var out []Advice
	for _, rule := range rules {
		out = append(out, rule(r, all)...)
	}
	if out == nil {
		out = []Advice{}
	}
	return out
}

// rules in order of work: supply, what was not read, communication, engine, then the rest.
var rules = []func(*Report, []told) []Advice{
	supplyRule, unreadRule, refusedRule, frozenRule, namelessRule, clearedRule, busRule, lostRule, engineRule, countsRule, failedRule, currentRule, transmissionRule, converterRule, lampRule, permanentRule, historyRule, silentRule, frontRule,
}

func (r *Report) told() (all []told) {
	for i := range r.ECUs {
		for k := range r.ECUs[i].Codes {
			all = append(all, told{&r.ECUs[i].Codes[k], &r.ECUs[i]})
		}
	}
	return all
}

// base is a code without its failure type.
func (t told) base() string { return t.Code.Code[:min(5, len(t.Code.Code))] }

// now tells whether a code speaks of the present: failing, pending, or told in a way that does
// not say more.
func (t told) now() bool {
	switch t.State {
	case "stored":
		return !t.by.passed(t.base())
	case "untested":
		return slices.ContainsFunc(maybeNow, func(w string) bool { return strings.Contains(t.Words, w) })
	case "history":
		return t.unclear()
	}
	return slices.Contains([]string{"current", "pending"}, t.State)
}

// unclear tells of a stored code whose computer keeps no bit for a failing test that it may be of
// now or of long ago.
func (t told) unclear() bool {
	return t.State == "history" && strings.Contains(t.Words, "does not tell whether")
}

// past tells a code that its computer calls one of the past.
func (t told) past() bool { return t.State == "history" && !t.unclear() }

// maybeNow stands in the words of a code that may be of now though no bit of its status says so: it
// failed since this start, or its computer keeps no such bit.
var maybeNow = []string{"failed since this start", "keeps no bit that tells failing", "no bit of its status means anything"}

// lampAsked stands in the words of a code for which a lamp is asked: it is not done with.
const lampAsked = "asks for a warning lamp"

// passed tells whether a computer says by status that the last test of a code passed, so that it
// is stored and of the past.
func (e *ECU) passed(base string) bool {
	return slices.ContainsFunc(e.Codes, func(k Code) bool {
		return k.State == "history" && strings.HasPrefix(k.Code, base) && strings.Contains(k.Words, "its last test passed") && !strings.Contains(k.Words, lampAsked)
	})
}

func names(codes []told) string {
	var list []string
	for _, c := range codes {
		if name := c.Code.Code; !slices.Contains(list, name) {
			list = append(list, name)
		}
	}
	return strings.Join(list, ", ")
}

// placed are codes with the computers that tell them.
func placed(codes []told) string {
	var list []string
	for _, c := range codes {
		if text := c.Code.Code + " (" + c.by.called() + ")"; !slices.Contains(list, text) {
			list = append(list, text)
		}
	}
	return strings.Join(list, ", ")
}

func pick(all []told, want func(told) bool) (out []told) {
	for _, c := range all {
		if want(c) {
			out = append(out, c)
		}
	}
	return out
}

// namelessRule is for adapters that hide whose reply a line is.
func namelessRule(r *Report, _ []told) []Advice {
	if !r.Nameless {
		return nil
	}
	return []Advice{{Do: "Use another adapter before blaming a computer: this one hides which computer speaks",
		Why: "replies of several computers come without their addresses, so that codes, counts and freeze frames cannot be told apart, and long replies may be mixed", Source: "ELM327 data sheet, AT H1"}}
}

// called is the computer's name, or its address.
func (e *ECU) called() string {
	switch {
	case e.Module != "":
		return e.Module
	case e.Name != "":
		return e.Name
	case e.ID == "":
		return "computers without names"
	}
	return e.ID
}

// called is a further computer's name with its address.
func (m *Asked) called() string {
	if m.Name == m.Request || m.Request == "" || strings.Contains(m.Request, m.Name) {
		return m.Name
	}
	return m.Name + " (" + m.Request + ")"
}

// engineFamilies are the engine's misfire, fuel and air codes by their beginnings (SAE J2012).
var engineFamilies = []string{"P030", "P031", "P035", "P0363", "P01", "P008", "P02", "P04", "P219", "P209", "P218", "P227", "P001", "P002"}

// elsewhere are codes of those families that do not make an engine run badly: catalysts, leaks and
// levels of the tank, and fans (SAE J2012, from memory).
var elsewhere = []string{"P042", "P043", "P0440", "P0442", "P0446", "P0449", "P045", "P046", "P048", "P0218"}

func engine(c told) bool {
	begins := func(f string) bool { return strings.HasPrefix(c.base(), f) }
	return slices.ContainsFunc(engineFamilies, begins) && !slices.ContainsFunc(elsewhere, begins)
}

func engineRule(_ *Report, all []told) []Advice {
	now := pick(all, func(c told) bool { return engine(c) && c.now() })
	if len(now) == 0 {
		return nil
	}
	do := "Repair the engine's misfire, fuel and air codes before judging the converter: " + names(now)
	if misfire := pick(now, func(c told) bool { return strings.HasPrefix(c.base(), "P03") }); len(misfire) > 0 {
		do = "Do not judge shudder today, and repair the engine's misfire, fuel and air codes before the converter: " + names(now)
	}
	return []Advice{{Do: do, Why: "a misfire under load feels like converter shudder, because the locked clutch passes it on: the two cannot be kept apart on the road", Source: publishedOrder}}
}

func transmission(c told) bool {
	b := c.base()
	return strings.HasPrefix(b, "P07") || strings.HasPrefix(b, "P08") || strings.HasPrefix(b, "P09") || strings.HasPrefix(b, "P27") || b == "P0218"
}

// clutchCodes are the ranges of codes of the converter clutch and of what controls it: fluid
// temperature, speeds, brake switch (SAE J2012; order from the trade, brake switch and road speed
// common practice, no source).
var clutchCodes = [][2]string{
	{"P0740", "P0744"}, {"P2756", "P2770"}, {"P0710", "P0723"}, {"P0218", "P0218"}, {"P0500", "P0503"}, {"P0571", "P0571"}, {"P0703", "P0703"}, {"P0724", "P0724"},
}

func converter(c told) bool {
	return slices.ContainsFunc(clutchCodes, func(r [2]string) bool { return c.base() >= r[0] && c.base() <= r[1] })
}

func currentRule(_ *Report, all []told) []Advice {
	now := pick(all, func(c told) bool {
		return c.now() && !lost(c) && !bus(c) && !engine(c) && !transmission(c) && !converter(c)
	})
	order := []string{"current", "stored", "untested", "history", "pending"}
	slices.SortStableFunc(now, func(a, b told) int { return slices.Index(order, a.State) - slices.Index(order, b.State) })
	if len(now) == 0 {
		return nil
	}
	return []Advice{{Do: "Work on what else is present: " + placed(now), Why: "current comes before pending, pending before history", Source: standardStatus}}
}

func transmissionRule(_ *Report, all []told) []Advice {
	now := pick(all, func(c told) bool { return transmission(c) && !converter(c) && c.now() })
	if len(now) == 0 {
		return nil
	}
	why := "transmission codes come after the engine's and before the converter is judged"
	if slices.ContainsFunc(now, func(c told) bool { return c.base() == "P0700" }) {
		why += "; P0700 only says that the transmission computer has codes of its own: read those"
	}
	return []Advice{{Do: "Then the transmission's codes: " + names(now), Why: why, Source: publishedOrder}}
}

func converterRule(_ *Report, all []told) (out []Advice) {
	codes := pick(all, converter)
	now := pick(codes, told.now)
	past := pick(codes, func(c told) bool {
		return c.State != "permanent" && c.State != "untested" && !slices.ContainsFunc(now, func(n told) bool { return n.base() == c.base() })
	})
	if len(now) > 0 {
		out = append(out, Advice{Do: "Converter clutch and what controls it: " + names(now) + "; read their freeze frames, look at fluid level, colour and smell by the maker's procedure",
			Why: "P0740 to P0744 and P2756 to P2770 concern the clutch itself; fluid temperature, speed signals and the brake switch decide whether it is applied at all; while one of these is present the car may keep it released, and then no shudder comes on the road", Source: practice})
	}
	if len(past) > 0 {
		out = append(out, Advice{Do: "Ask what was done about the converter clutch and what controls it: " + stated(past) + "; none of these is told as present",
			Why: "a code of the past says that it happened, not that it happens; look on the road whether it comes back", Source: standardStatus})
	}
	return out
}

// stated are codes with their states.
func stated(codes []told) string {
	var list []string
	for _, c := range codes {
		if text := c.Code.Code + " " + c.State; !slices.Contains(list, text) {
			list = append(list, text)
		}
	}
	return strings.Join(list, ", ")
}

func permanentRule(_ *Report, all []told) []Advice {
	perm := pick(all, func(c told) bool { return c.State == "permanent" })
	if len(perm) == 0 {
		return nil
	}
	return []Advice{{Do: "Write down the permanent codes: " + names(perm), Why: "they cannot be cleared by a tool and go only when the car has proved the repair itself: for these it has not yet, so look on the road whether the fault is gone", Source: standardPerm}}
}

func historyRule(_ *Report, all []told) (out []Advice) {
	if old := pick(all, told.past); len(old) > 0 {
		out = append(out, Advice{Do: "Note the history codes, and look whether they come back: " + names(old), Why: "their last test passed, or has not run since", Source: standardStatus})
		if lostOld := pick(old, lost); len(lostOld) > 0 {
			out = append(out, Advice{Do: "Replace nothing for " + names(lostOld), Why: "a lost-communication code that is history alone comes from a low battery, cranking or a module once unplugged as well", Source: publishedLost})
		}
	}
	if either := pick(all, told.unclear); len(either) > 0 {
		out = append(out, Advice{Do: "Find out whether these are of now or of the past: " + placed(either),
			Why: "their computer does not tell whether the last test failed; above they are taken as present, and replacing anything wants more than that", Source: standardStatus + ", availability mask"})
	}
	return out
}

func silentRule(r *Report, _ []told) []Advice {
	var silent []string
	for _, m := range r.Modules {
		if !m.Answered && !m.Unreachable {
			silent = append(silent, m.called())
		}
	}
	if silent == nil {
		return nil
	}
	return []Advice{{Do: "Find out whether the car has these at all (wiring diagram, maker's list of computers), then ask again with the ignition on: " + strings.Join(silent, ", "),
		Why: "nobody answered there: not fitted, another address, asleep, behind a security gateway, dead, out of this adapter's hearing, or replying elsewhere than 8 above (a vehicle profile can say where); which one cannot be told from here", Source: practice}}
}

// front are codes of what stands at the front of a car: air flow and shutters (SAE J2012).
func front(c told) bool {
	b := c.base()
	return b >= "P0101" && b <= "P0104" || b == "P059F" || b >= "P05A0" && b <= "P05AA"
}

// manyLost is how many history codes of lost communication make a pattern.
const manyLost = 3

func frontRule(_ *Report, all []told) []Advice {
	airy := pick(all, front)
	old := pick(all, func(c told) bool { return lost(c) && c.past() })
	if len(airy) == 0 || len(old) < manyLost {
		return nil
	}
	return []Advice{{Do: "Look for earlier front damage", Hint: true,
		Why:    "a code of air flow or shutter (" + names(airy) + ") together with " + fmt.Sprint(len(old)) + " history codes of lost communication: a hint, not a finding",
		Source: practice}}
}

func countsRule(r *Report, _ []told) []Advice {
	var counts []string
	for i := range r.ECUs {
		counts = append(counts, r.ECUs[i].misfires()...)
	}
	if counts != nil {
		return []Advice{{Do: "Compare the cylinders' misfire counts with each other: " + strings.Join(counts, ", "),
			Why: "one single count is no evidence of a misfire; counts depend on how long and how the car was driven", Source: practice}}
	}
	return nil
}

// misfires are the counts of service 06 that are not zero, cylinder by cylinder.
func (e *ECU) misfires() (out []string) {
	for _, t := range e.Tests {
		number, ok := strings.CutPrefix(t.Monitor, cylinderMonitor)
		if ok && t.Value > 0 && strings.HasSuffix(t.ID, "/0C") {
			out = append(out, fmt.Sprintf("cylinder %s: %.0f", number, t.Value))
		}
	}
	return out
}
