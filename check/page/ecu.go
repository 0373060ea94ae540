package page

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/judder-obd/judder/check"
)

func (p *lines) ecu(e *check.ECU) {
	name := cmp.Or(strings.TrimSpace(e.ID+"  "+e.Name), check.NoName)
	if e.Module != "" && e.Module != e.Name {
		name += "  (" + e.Module + ")"
	}
	p.line("%s", name)
	p.facts(e)
	p.lists(e)
	for i := range e.Codes {
		c := &e.Codes[i]
		p.line("  %-9s %-9s %s%s", c.Code, c.State, cmp.Or(c.Text, "no text known; see the maker's information"), statusText(c))
		if c.Snapshot != "" {
			p.line("            kept with it, in the maker's own layout: %s", short(c.Snapshot))
		}
	}
	p.freezes(e)
	p.monitors(e.Readiness)
	p.tests(e.Tests)
	for _, u := range e.Unread {
		p.line("  not read: %s", u.Words())
	}
	p.line("")
}

// lists says where there are no codes, and of which lists nothing is known.
func (p *lines) lists(e *check.ECU) {
	with := func(kind check.Kind) (names []check.List) {
		for _, name := range slices.Sorted(maps.Keys(e.Lists)) {
			if e.Lists[name].Kind == kind {
				names = append(names, name)
			}
		}
		return names
	}
	read, mixed := with(check.Read), with(check.Mixed)
	if len(mixed) > 0 {
		p.line("  CODES MAY BE MISSING: %s", listNames(mixed))
	}
	switch open := slices.DeleteFunc(e.Lists.Unread(), func(l check.List) bool { return slices.Contains(mixed, l) }); {
	case len(open) > 0:
		p.line("  CODES NOT READ: %s", listNames(open))
	case len(e.Codes) == 0 && len(read) > 0:
		p.line("  no codes (%s)", listNames(read))
	}
	if absent := with(check.NotSupported); len(absent) > 0 {
		p.line("  no such list here: %s", listNames(absent))
	}
	for _, name := range with(check.MaybeNotKept) {
		p.line("  %s: %s", name.Item().Words(), check.Of(check.MaybeNotKept).Words())
	}
}

func listNames(list []check.List) string {
	var out []string
	for _, l := range list {
		out = append(out, string(l))
	}
	return strings.Join(out, ", ")
}

// short cuts long hex text; the whole is in the JSON and in the raw replies.
func short(hex string) string {
	const most = 48
	if len(hex) <= most {
		return hex
	}
	return hex[:most] + "…"
}

func statusText(c *check.Code) string {
	if c.Status == nil {
		return ""
	}
	return fmt.Sprintf("  [status %02X: %s]", byte(c.Status.Bits), c.Words())
}

func (p *lines) facts(e *check.ECU) {
	for _, f := range []struct{ name, text string }{
		{"VIN", e.VIN}, {"built to", e.Regulation}, {"calibration", strings.Join(e.Calibrations, ", ")},
		{"part number", e.PartNumber}, {"calibration verification", strings.Join(e.CVNs, ", ")},
	} {
		if f.text != "" {
			p.line("  %s %s", f.name, f.text)
		}
	}
	if e.OdometerKM > 0 {
		p.line("  odometer %.1f km", e.OdometerKM)
	}
	if e.Lamp != nil {
		lamp := "off"
		if *e.Lamp {
			lamp = "ON"
		}
		p.line("  malfunction lamp commanded %s, stored codes counted: %d", lamp, e.CodesCounted)
	}
	if text := e.Cleared.Text(); text != "" {
		p.line("  since codes were cleared: %s", text)
	}
}

// freezes writes the freeze frames, and of which codes there is none.
func (p *lines) freezes(e *check.ECU) {
	frozen := map[string]bool{}
	for i := range e.Freezes {
		p.freeze(&e.Freezes[i])
		frozen[e.Freezes[i].Code] = true
	}
	var without []string
	for _, c := range e.Codes {
		if further := e.Module != "" && c.Status != nil; !further && !frozen[c.Code] && !slices.Contains(without, c.Code) {
			without = append(without, c.Code) // what a further module keeps is beside its codes
		}
	}
	switch {
	case e.FreezeState.Kind == check.NotAsked:
	case e.FreezeState.Kind != check.Read:
		p.line("  FREEZE FRAME NOT READ: %s", e.FreezeState.Words())
	case without != nil:
		p.line("  no freeze frame: %s", strings.Join(without, ", "))
	}
}

func (p *lines) freeze(f *check.Freeze) {
	record := ""
	if f.Record > 0 {
		record = fmt.Sprintf(" (record %d)", f.Record)
	}
	p.line("  freeze frame of %s%s:", f.Code, record)
	if f.Cut {
		p.line("    NOT COMPLETE: the rest of it could not be read")
	}
	for i := range f.Values {
		v := &f.Values[i]
		p.line("    %-40s %s", v.Name, cmp.Or(v.Text, strings.TrimSpace(amount(v)+" "+v.Unit)))
	}
}

// amount writes the value as finely as its step is, with three digits after the point at most.
func amount(v *check.Value) string {
	if !(v.Step > 0) {
		return fmt.Sprintf("%.4g", v.Value)
	}
	digits := math.Ceil(-math.Log10(v.Step) - 1e-9) // 1e-9: what the logarithm of a power of ten is off
	return strconv.FormatFloat(v.Value, 'f', int(max(0, min(digits, 3))), 64)
}

func (p *lines) monitors(list []check.Monitor) {
	var done, open []string
	for _, m := range list {
		if m.Complete {
			done = append(done, m.Name)
		} else {
			open = append(open, m.Name)
		}
	}
	if len(open) > 0 {
		p.line("  self-tests not complete: %s", strings.Join(open, ", "))
	}
	if len(done) > 0 {
		p.line("  self-tests complete: %s", strings.Join(done, ", "))
	}
}
