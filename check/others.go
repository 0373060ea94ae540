package check

import (
	"fmt"
	"slices"
	"strings"
)

// others are the changes of one computer in all but its codes: what a repair, a new program
// or a clearing moves. What either check did not read is left out.
func others(was, is *ECU) (out []Change) {
	add := func(item, a, b string) {
		if a != "" && b != "" && a != b {
			out = append(out, Change{ECU: is.ID, Name: is.label(), Item: item, What: changed, Was: a, Is: b})
		}
	}
	if n := toldOfBoth(was.VIN, is.VIN); was.VIN[:n] != is.VIN[:n] {
		add("VIN", was.VIN, is.VIN)
	}
	add("malfunction lamp", was.lamp(), is.lamp())
	if !was.partly(readingIDs) && !is.partly(readingIDs) {
		add("calibration", strings.Join(was.Calibrations, ", "), strings.Join(is.Calibrations, ", "))
	}
	if !was.partly(readingCVNs) && !is.partly(readingCVNs) {
		add("calibration verification", strings.Join(was.CVNs, ", "), strings.Join(is.CVNs, ", "))
	}
	add("part number", was.PartNumber, is.PartNumber)
	a, b := toldByBoth(was.Cleared, is.Cleared)
	add("since codes were cleared", a.text(), b.text())
	add("freeze frames", was.frozen(), is.frozen())
	for _, m := range is.Readiness {
		for _, old := range was.Readiness {
			if old.Name == m.Name {
				add("self-test "+m.Name, old.text(), m.text())
			}
		}
	}
	for i := range is.Tests {
		t := &is.Tests[i]
		for k := range was.Tests {
			if old := &was.Tests[k]; old.ID == t.ID {
				add(strings.TrimSuffix(t.Monitor+", "+t.Test, ", "), old.told(), t.told())
			}
		}
	}
	return out
}

// partly tells whether something of a computer was not read whole.
func (e *ECU) partly(what string) bool {
	return slices.ContainsFunc(e.Unread, func(u string) bool { return strings.HasPrefix(u, what+":") })
}

// toldByBoth leaves of two counts since clearing what both checks read.
func toldByBoth(was, is *Cleared) (a, b *Cleared) {
	if was == nil || is == nil {
		return nil, nil
	}
	x, y := *was, *is
	for _, f := range [][2]**float64{{&x.KM, &y.KM}, {&x.Minutes, &y.Minutes}, {&x.WarmUps, &y.WarmUps}} {
		if *f[0] == nil || *f[1] == nil {
			*f[0], *f[1] = nil, nil
		}
	}
	return &x, &y
}

func (e *ECU) lamp() string {
	switch {
	case e.Lamp == nil:
		return ""
	case *e.Lamp:
		return "ON"
	}
	return "off"
}

// frozen are the codes of the freeze frames; "" when it is not known whether these are all.
func (e *ECU) frozen() string {
	var codes []string
	for _, f := range e.Freezes {
		codes = append(codes, f.Code)
	}
	switch {
	case e.FreezeState != ListRead:
		return ""
	case codes == nil:
		return "none"
	}
	return strings.Join(codes, ", ")
}

func (m Monitor) text() string {
	if m.Complete {
		return "complete"
	}
	return "not complete"
}

// told is a result as compared: of a count its number, of the rest whether it passed.
func (t *TestResult) told() string {
	if t.unlimited() {
		return fmt.Sprintf("%.0f", t.Value)
	}
	return t.Outcome
}

// text says how far and how long ago codes were cleared; "" when nothing tells.
func (c *Cleared) text() string {
	if c == nil {
		return ""
	}
	var parts []string
	add := func(v *float64, most float64, unit string) {
		if v != nil {
			parts = append(parts, atLeast(*v, most)+" "+unit)
		}
	}
	add(c.KM, mostCleared, "km")
	add(c.Minutes, mostCleared, "min")
	add(c.WarmUps, mostWarmUps, "warm-ups")
	return strings.Join(parts, ", ")
}

// The largest values of the counts since clearing; there they stop (SAE J1979).
const (
	mostCleared = 65535 // km and minutes
	mostWarmUps = 255
)

// atLeast writes a count, which may have stopped at its largest value.
func atLeast(v, most float64) string {
	if v >= most {
		return fmt.Sprintf("at least %.0f", v)
	}
	return fmt.Sprintf("%.0f", v)
}
