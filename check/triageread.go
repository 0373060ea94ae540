package check

import (
	"fmt"
	"slices"
	"strings"
)

// Supply voltage at the diagnostic socket: beyond these, modules report faults that they do not
// have. At rest the ignition is on (all common practice, no source).
const (
	voltsLow     = 12.3
	voltsRunning = 13.0 // a regulated alternator may rest below this for a while
	voltsHigh    = 15.2
)

func supplyRule(r *Report, all []told) []Advice {
	supply := pick(all, func(c told) bool {
		return slices.Contains([]string{"P0560", "P0561", "P0562", "P0563", "P0620"}, c.base())
	})
	running := r.EngineRPM != nil && *r.EngineRPM > 0
	switch {
	case running && r.Volts > 0 && r.Volts < voltsRunning:
		return []Advice{{Do: fmt.Sprintf("Check the charging first: %.1f V at the diagnostic socket with the engine running", r.Volts),
			Why: "below 13 V the alternator does not charge, or rests for a while as regulated ones do; a low supply makes computers report faults that they do not have", Source: practice}}
	case r.Volts > 0 && r.Volts < voltsLow:
		return []Advice{{Do: fmt.Sprintf("Charge and test the battery first: %.1f V at the diagnostic socket", r.Volts),
			Why: "a low supply makes computers report faults that they do not have", Source: practice}}
	case r.Volts > voltsHigh:
		return []Advice{{Do: fmt.Sprintf("Check the charging voltage first: %.1f V at the diagnostic socket", r.Volts),
			Why: "a high supply damages and misleads computers", Source: practice}}
	case len(supply) > 0:
		return []Advice{{Do: "Check battery, charging and grounds first: " + names(supply), Why: "supply faults bring other codes with them", Source: practice}}
	}
	return nil
}

// unreadRule keeps an empty list from passing for a good one.
func unreadRule(r *Report, _ []told) []Advice {
	if r.BrokeOff != "" {
		return []Advice{{Do: "Make this check again: it broke off at " + r.BrokeOff,
			Why: "what was not asked is not the same as nothing found", Source: practice}}
	}
	var who []string
	for i := range r.ECUs {
		if again, _ := r.ECUs[i].Lists.split(); again != nil {
			who = append(who, r.ECUs[i].called()+" ("+strings.Join(again, ", ")+")")
		}
	}
	if who == nil {
		return nil
	}
	return []Advice{{Do: "Read the codes again before trusting this list: not told whole by " + strings.Join(who, ", "),
		Why: "silence, damage or a refusal is no empty list, and a computer that counts more codes than it lists has others", Source: "SAE J1979, service 03; ISO 14229-1, service 19 01"}}
}

// split parts the lists that were not read: those to ask for again, and those refused for good.
func (l Lists) split() (again, refused []string) {
	for _, name := range l.unread() {
		if became := l[name]; strings.HasPrefix(became, refusedBegins) && !strings.Contains(became, "ask again") {
			refused = append(refused, name)
		} else {
			again = append(again, name)
		}
	}
	return again, refused
}

// absent tells whether a list was refused as one that the computer does not have.
func (l Lists) absent(name string) bool {
	return slices.ContainsFunc([]string{"(11)", "(12)", "(31)"}, func(code string) bool { return strings.HasSuffix(l[name], code) })
}

// toldBySome tells whether some computer told a list; permanent codes came late, and many cars keep
// none.
func (r *Report) toldBySome(name string) bool {
	return name == "permanent" || slices.ContainsFunc(r.ECUs, func(e ECU) bool { return e.Lists[name] == ListRead })
}

// refusedRule is for lists that asking again will not bring. One that is refused as not there is
// believed where nothing speaks for a code.
func refusedRule(r *Report, _ []told) (out []Advice) {
	for i := range r.ECUs {
		e := &r.ECUs[i]
		_, refused := e.Lists.split()
		but := ""
		switch {
		case refused == nil:
			continue
		case slices.ContainsFunc(refused, func(name string) bool { return strings.HasSuffix(e.Lists[name], "(13)") }):
			out = append(out, Advice{Do: fmt.Sprintf("Read the codes of %s with another adapter (%s)", e.called(), strings.Join(refused, ", ")),
				Why: "it calls the request too short or too long, which this adapter may have cut", Source: "ISO 14229-1, refusals"})
			continue
		case e.CodesToldOf > 0:
			but = fmt.Sprintf(", though it counts %d stored codes", e.CodesToldOf)
		case e.Lamp != nil && *e.Lamp:
			but = ", though it commands the lamp on"
		case !e.further() && !slices.ContainsFunc(refused, func(name string) bool { return !e.Lists.absent(name) || !r.toldBySome(name) }):
			continue
		}
		out = append(out, Advice{Do: fmt.Sprintf("Read the codes of %s in another way (the maker's tool): it refuses to tell them (%s)%s", e.called(), strings.Join(refused, ", "), but),
			Why: "a refusal is no empty list, and asked once more it will refuse once more", Source: "ISO 14229-1, refusals; " + standardReady})
	}
	return out
}

// lampRule is for a lamp that nothing explains.
func lampRule(r *Report, _ []told) (out []Advice) {
	for i := range r.ECUs {
		e := &r.ECUs[i]
		lit := func(k Code) bool { return k.State != "pending" && k.State != "permanent" && k.State != "untested" }
		if e.Lamp == nil || !*e.Lamp || slices.ContainsFunc(e.Codes, lit) || e.Lists.unread() != nil {
			continue
		}
		out = append(out, Advice{Do: "Find out why the malfunction lamp is commanded on: " + e.called() + " told no stored code",
			Why: "a lamp without a code: the code is kept where this check does not read, or another computer asked for the lamp; read all computers with the maker's tool", Source: standardReady})
	}
	return out
}

// clearedKMLittle is the distance since clearing below which little can be concluded: self-
// tests need one or two drives (common practice, no source).
const (
	clearedKMLittle      = 80
	clearedMinutesLittle = 60 // the same where a car counts no distance
)

// openUsual is how many self-tests may be open on a car that was driven since (common practice, no
// source).
const openUsual = 2

func clearedRule(r *Report, _ []told) []Advice {
	const do = "Drive until the self-tests have run before trusting an empty list"
	told, open, km := false, []string(nil), 0.0
	for i := range r.ECUs {
		e := &r.ECUs[i]
		if c := e.Cleared; c != nil {
			if why := c.lately(); why != "" {
				return []Advice{{Do: do, Why: why, Source: standardReady}}
			}
			if told = told || c.KM != nil || c.Minutes != nil; c.KM != nil {
				km = max(km, *c.KM)
			}
		}
		if n := e.testsOpen(); n > 0 && (e.Cleared == nil || n > openUsual) {
			open = append(open, fmt.Sprintf("%d of %d (%s)", n, len(e.Readiness), e.called()))
		}
	}
	if open == nil {
		return nil
	}
	why := "a self-test that has not run finds nothing, and how far or how long ago codes were cleared this car does not tell"
	if told {
		why = "a self-test that has not run finds nothing"
		if km > 0 {
			why += fmt.Sprintf("; that these have not run within %s km may be a fault of its own", atLeast(km, mostCleared))
		}
	}
	return []Advice{{Do: do + "; not complete: " + strings.Join(open, ", "), Why: why, Source: standardReady}}
}

// testsOpen counts the self-tests that are not complete.
func (e *ECU) testsOpen() (n int) {
	for _, m := range e.Readiness {
		if !m.Complete {
			n++
		}
	}
	return n
}

// lately says that codes were cleared a short while ago; "" when they were not, or nothing tells.
func (c *Cleared) lately() string {
	ago := ""
	switch {
	case c.KM != nil && *c.KM < 1:
		ago = "less than 1 km"
	case c.KM != nil && *c.KM < clearedKMLittle:
		ago = fmt.Sprintf("%.0f km", *c.KM)
	case c.KM == nil && c.Minutes != nil && *c.Minutes < clearedMinutesLittle:
		ago = fmt.Sprintf("%.0f min of running", *c.Minutes)
	default:
		return ""
	}
	return "codes were cleared " + ago + " ago: little can be concluded"
}

// frozenRule is for a freeze frame whose code no list tells.
func frozenRule(r *Report, all []told) (out []Advice) {
	for i := range r.ECUs {
		e := &r.ECUs[i]
		for _, f := range e.Freezes {
			if !slices.ContainsFunc(all, func(c told) bool { return c.by == e && (c.base() == f.Code || c.Code.Code == f.Code) }) {
				out = append(out, Advice{Do: fmt.Sprintf("Look for %s: %s keeps its freeze frame, and no list of codes tells it", f.Code, e.called()),
					Why: "a freeze frame is stored with its code and cleared with it", Source: "SAE J1979, service 02"})
			}
		}
	}
	return out
}

// failedRule is for results of service 06 outside their limits.
func failedRule(r *Report, _ []told) []Advice {
	var failed []string
	for i := range r.ECUs {
		for k := range r.ECUs[i].Tests {
			if t := &r.ECUs[i].Tests[k]; t.Outcome == "failed" {
				failed = append(failed, fmt.Sprintf("%s, %s (%s)", t.Monitor, t.Test, r.ECUs[i].called()))
			}
		}
	}
	if failed == nil {
		return nil
	}
	return []Advice{{Do: "Look into test results outside their limits: " + strings.Join(failed, "; "),
		Why: "a result outside its limits may come before its code, which many monitors store only at the second failure", Source: "SAE J1979, service 06"}}
}
