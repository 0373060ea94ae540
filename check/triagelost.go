package check

import (
	"fmt"
	"slices"
	"strings"
)

// bus tells whether a code is of a bus and of no single module: U0001 to U0029 and U0073 to U0079
// (SAE J2012, from memory), or any with the failure type "bus off".
func bus(c told) bool {
	b := c.base()
	return b >= "U0001" && b <= "U0029" || b >= "U0073" && b <= "U0079" || strings.HasPrefix(b, "U") && strings.HasSuffix(c.Code.Code, "-88")
}

func busRule(_ *Report, all []told) []Advice {
	now := pick(all, func(c told) bool { return bus(c) && c.now() })
	if len(now) == 0 {
		return nil
	}
	return []Advice{{Do: "Look at the bus itself before any single module: " + placed(now) + "; wires, connectors, terminating resistors, then one module after the other unplugged, by the maker's procedure",
		Why: "a bus-off code points at the wiring or at whoever disturbs the bus, not at the one that tells of it, and brings codes of lost communication with it", Source: publishedLost}}
}

// lost tells whether a code is one of lost communication (SAE J2012: U01, U02).
func lost(c told) bool {
	return (strings.HasPrefix(c.base(), "U01") || strings.HasPrefix(c.base(), "U02")) && !bus(c)
}

// accused are the computers that a code of lost communication names and that have a standard
// address: reply headers on 11 and 29 bits and source on the older buses (ISO 15765-4, SAE J2178;
// which computer has the second one is common practice).
var accused = map[string][]string{
	"U0100": {"7E8", "18DAF110", "10"},
	"U0101": {"7E9", "18DAF118", "18"},
}

// answering is the computer that a code accuses, when it answered in this check; nil when it did
// not, or cannot be told.
func (r *Report) answering(code string) *ECU {
	for i := range r.ECUs {
		if e := &r.ECUs[i]; e.accusedBy(code) && e.said() {
			return e
		}
	}
	return nil
}

// accusedBy tells whether a code names this very computer.
func (e *ECU) accusedBy(code string) bool { return slices.Contains(accused[code], e.ID) }

// said tells whether a computer answered anything in this check.
func (e *ECU) said() bool {
	for _, became := range e.Lists {
		if became == ListRead {
			return true
		}
	}
	return len(e.Codes) > 0 || len(e.Readiness) > 0 || len(e.Calibrations) > 0 || e.Name != "" && !e.further()
}

// manyAccused is how many modules one computer must miss, all alone, to look at itself.
const manyAccused = 3

func lostRule(r *Report, all []told) (out []Advice) {
	now := pick(all, func(c told) bool { return lost(c) && c.now() })
	tellers := map[string][]*ECU{} // of each code
	of := map[*ECU][]string{}      // codes that a computer alone tells
	var order []string
	for _, c := range now {
		if tellers[c.base()] == nil {
			order = append(order, c.base())
		}
		if !slices.Contains(tellers[c.base()], c.by) {
			tellers[c.base()] = append(tellers[c.base()], c.by)
		}
	}
	for _, code := range order {
		if who := tellers[code]; len(who) == 1 && !who[0].accusedBy(code) {
			of[who[0]] = append(of[who[0]], code)
		}
	}
	done := map[*ECU]bool{}
	for _, code := range order {
		who := tellers[code]
		switch by := who[0]; {
		case len(who) == 1 && len(of[by]) >= manyAccused && !by.accusedBy(code):
			if !done[by] {
				out = append(out, r.alone(by, of[by]))
			}
			done[by] = true
		default:
			out = append(out, r.accuse(code, who, now))
		}
	}
	return out
}

// alone is the advice for one computer that misses many others.
func (r *Report) alone(by *ECU, codes []string) Advice {
	why := "when many computers miss one, that one is silent; when one misses many, it is cut off itself"
	if !slices.ContainsFunc(r.ECUs, func(e ECU) bool { return e.further() && e.ID != by.ID && len(e.Lists) > 0 }) {
		why += "; no other computer beside those of the engine and gearbox was asked, and others may miss them as well"
	}
	for _, code := range codes {
		if e := r.answering(code); e != nil && e != by {
			why += "; " + e.called() + ", which " + code + " names, answers now"
		}
	}
	return Advice{Do: fmt.Sprintf("Look at the connection of %s first: its power, ground and bus wires; it alone misses %d others (%s)", by.called(), len(codes), strings.Join(codes, ", ")),
		Why: why, Source: practice}
}

// accuse is the advice for one code and those that tell it.
func (r *Report) accuse(code string, by []*ECU, now []told) Advice {
	var who []string
	for _, e := range by {
		if !e.accusedBy(code) {
			who = append(who, e.called())
		}
	}
	if who == nil {
		return Advice{Do: fmt.Sprintf("Find out which computer %s means: %s tells it, and has the address of the one that it names (maker's list of computers)", code, by[0].called()),
			Why: "a computer cannot have lost itself: it means another one, or tells of a time when it was cut off", Source: practice}
	}
	what := "the module that " + code + " names"
	for _, c := range now {
		if c.base() == code && c.Text != "" {
			what = "what " + code + " names (" + c.Text + ")"
			break
		}
	}
	if e := r.answering(code); e != nil {
		return Advice{Do: fmt.Sprintf("Look at the wires between %s and %s: %s says that it was lost (%s), and it answers now", strings.Join(who, ", "), e.called(), code, strings.Join(who, ", ")),
			Why: "a computer that answers is not dead: the fault comes and goes, or lies between the two", Source: practice}
	}
	return Advice{Do: "Look at " + what + ": its power, ground and bus wires; not at " + strings.Join(who, " and ") + ": there it is only told",
		Why: "a lost-communication code points at the module that went silent, not at the one that tells of it", Source: publishedLost}
}
