package check

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
)

// page writes lines and keeps the first error.
type page struct {
	w   io.Writer
	err error
}

func (p *page) line(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, format+"\n", args...)
	}
}

// WriteText writes a standing check for people: what to do first, then what each computer
// remembers. Text that came from the car has no control characters left in it.
func (r *Report) WriteText(w io.Writer) error {
	p := &page{w: w}
	p.line("standing check of %s", r.Time.Format("2006-01-02 15:04"))
	if r.BrokeOff != "" {
		p.line("  NOT WHOLE: it broke off at %s", r.BrokeOff)
	}
	switch {
	case r.VIN == "" && r.askedVIN:
		p.line("  VIN       not read")
	case r.VIN != "":
		p.line("  VIN       %s%s", r.VIN, year(r.ModelYear))
		if r.VINNote != "" {
			p.line("            %s", r.VINNote)
		}
	}
	p.line("  bus       %s", cmp.Or(r.Protocol, "not told by this adapter"))
	supply := "not told by this adapter"
	if r.Volts > 0 {
		supply = fmt.Sprintf("%.1f V at the socket", r.Volts)
	}
	p.line("  supply    %s", supply)
	switch {
	case r.EngineRPM == nil:
		p.line("  engine    not known whether it ran")
	case *r.EngineRPM > 0:
		p.line("  engine    ran at %.0f rpm", *r.EngineRPM)
	default:
		p.line("  engine    off")
	}
	p.line("")
	p.triage(r.Triage)
	for i := range r.ECUs {
		p.ecu(&r.ECUs[i])
	}
	var silent []string
	for i := range r.Modules {
		if m := &r.Modules[i]; !m.Answered && !m.Unreachable {
			silent = append(silent, m.called())
		}
	}
	if silent != nil {
		p.line("asked and not answering: %s", strings.Join(silent, ", "))
	}
	if r.Swept && len(r.Modules) > 0 {
		p.line("all standard addresses were asked whether somebody is there; who replies elsewhere than 8 above (11 bits) was not heard")
	}
	switch {
	case len(r.Modules) > 0 || r.BrokeOff != "":
	case r.Swept:
		p.line("further computers (brakes, body, ...): none answered at the standard addresses; --module or --profile names one elsewhere")
	case r.Protocol != "" && !strings.Contains(r.Protocol, "CAN"):
		p.line("further computers (brakes, body, ...) were not asked: on this bus none can be by its own address; the maker's tool reads them")
	default:
		p.line("further computers (brakes, body, ...) were not asked; --module, --profile or --sweep names them")
	}
	for _, u := range r.Unread {
		p.line("not read: %s", u)
	}
	return p.err
}

func year(y int) string {
	if y == 0 {
		return ""
	}
	return fmt.Sprintf("  (model year %d by the North American code)", y)
}

func (p *page) triage(list []Advice) {
	if len(list) == 0 {
		p.line("nothing that the computers remember has to be done first")
		p.line("")
		return
	}
	p.line("what to do first, and why:")
	n := 0
	for _, a := range list {
		mark := "hint"
		if !a.Hint {
			n++
			mark = fmt.Sprintf("%d.", n)
		}
		p.line("  %-4s %s", mark, a.Do)
		p.line("       because %s (%s)", a.Why, a.Source)
	}
	p.line("")
}

func (p *page) ecu(e *ECU) {
	name := strings.TrimSpace(e.ID + "  " + e.Name)
	if name == "" {
		name = "computers that the adapter gives no name to"
	}
	if e.Module != "" && e.Module != e.Name {
		name += "  (" + e.Module + ")"
	}
	p.line("%s", name)
	p.facts(e)
	p.lists(e)
	for _, c := range e.Codes {
		text := c.Text
		if text == "" {
			text = "no text known; see the maker's information"
		}
		p.line("  %-9s %-9s %s%s", c.Code, c.State, text, statusText(&c))
		if c.Snapshot != "" {
			p.line("            kept with it, in the maker's own layout: %s", short(c.Snapshot))
		}
	}
	p.freezes(e)
	p.monitors(e.Readiness)
	p.tests(e.Tests)
	for _, u := range e.Unread {
		p.line("  not read: %s", u)
	}
	p.line("")
}

// lists says where there are no codes, and of which lists nothing is known.
func (p *page) lists(e *ECU) {
	var read, absent, unknown []string
	for _, name := range slices.Sorted(maps.Keys(e.Lists)) {
		switch e.Lists[name] {
		case ListRead:
			read = append(read, name)
		case NotSupported:
			absent = append(absent, name)
		case NotTold:
			unknown = append(unknown, name)
		}
	}
	switch open := e.Lists.unread(); {
	case len(open) > 0:
		p.line("  CODES NOT READ: %s", strings.Join(open, ", "))
	case len(e.Codes) == 0 && len(read) > 0:
		p.line("  no codes (%s)", strings.Join(read, ", "))
	}
	if len(absent) > 0 {
		p.line("  no list kept here: %s", strings.Join(absent, ", "))
	}
	for _, name := range unknown {
		p.line("  %s codes: %s", name, NotTold)
	}
}

// short cuts long hex text; the whole stands in the JSON and the raw replies.
func short(hex string) string {
	const most = 48
	if len(hex) <= most {
		return hex
	}
	return hex[:most] + "…"
}

func statusText(c *Code) string {
	if c.Status == "" {
		return ""
	}
	return fmt.Sprintf("  [status %s: %s]", c.Status, c.Words)
}

func (p *page) facts(e *ECU) {
	if e.VIN != "" {
		p.line("  VIN %s", e.VIN)
	}
	if e.Regulation != "" {
		p.line("  built to %s", e.Regulation)
	}
	if len(e.Calibrations) > 0 {
		p.line("  calibration %s", strings.Join(e.Calibrations, ", "))
	}
	if e.PartNumber != "" {
		p.line("  part number %s", e.PartNumber)
	}
	if len(e.CVNs) > 0 {
		p.line("  calibration verification %s", strings.Join(e.CVNs, ", "))
	}
	if e.OdometerKM > 0 {
		p.line("  odometer %.1f km", e.OdometerKM)
	}
	if lamp := e.lamp(); lamp != "" {
		p.line("  malfunction lamp commanded %s, stored codes counted: %d", lamp, e.CodesToldOf)
	}
	if text := e.Cleared.text(); text != "" {
		p.line("  since codes were cleared: %s", text)
	}
}

// freezes tells the freeze frames, and of which codes there is none.
func (p *page) freezes(e *ECU) {
	frozen := map[string]bool{}
	for i := range e.Freezes {
		p.freeze(&e.Freezes[i])
		frozen[e.Freezes[i].Code] = true
	}
	var without []string
	for _, c := range e.Codes {
		byStatus := e.Module != "" && c.Service == "19" // what is kept with those stands beside them
		if !byStatus && !frozen[c.Code] && !slices.Contains(without, c.Code) {
			without = append(without, c.Code)
		}
	}
	switch {
	case e.FreezeState == "":
	case e.FreezeState != ListRead:
		p.line("  FREEZE FRAME NOT READ: %s", e.FreezeState)
	case without != nil:
		p.line("  no freeze frame: %s", strings.Join(without, ", "))
	}
}

func (p *page) freeze(f *Freeze) {
	record := ""
	if f.Record > 0 {
		record = fmt.Sprintf(" (record %d)", f.Record)
	}
	p.line("  freeze frame of %s%s:", f.Code, record)
	if f.Cut {
		p.line("    NOT WHOLE: the rest of it could not be read")
	}
	for _, v := range f.Values {
		text := v.amount() + " " + v.Unit
		if v.Text != "" {
			text = v.Text
		}
		p.line("    %-40s %s", v.Name, strings.TrimSpace(text))
	}
}

// amount writes the value as finely as its step is, with three digits behind the point at most.
func (v *Value) amount() string {
	if !(v.step > 0) {
		return fmt.Sprintf("%.4g", v.Value)
	}
	digits := math.Ceil(-math.Log10(v.step) - 1e-9) // 1e-9: what the logarithm of a power of ten is off
	return strconv.FormatFloat(v.Value, 'f', int(max(0, min(digits, 3))), 64)
}

func (p *page) monitors(list []Monitor) {
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

func (p *page) tests(list []TestResult) {
	counts, judged := map[string]int{}, 0
	for _, t := range list {
		if t.unlimited() {
			continue // a count passes whatever it is
		}
		judged++
		counts[t.Outcome]++
		if t.Outcome == notJudged {
			p.line("    %s: %.0f, limits %.0f to %.0f, raw", t.Monitor, t.Value, t.Min, t.Max)
		}
		if t.Outcome == "failed" || t.Outcome == "unknown" {
			value := strings.TrimSpace(fmt.Sprintf("%.4g %s", t.Value, t.Unit))
			p.line("    %s, %s: %s, limits %.4g to %.4g, %s", t.Monitor, t.Test, value, t.Min, t.Max, t.Outcome)
		}
	}
	p.misfires(list)
	switch n := counts[notJudged]; {
	case judged == 0:
		return
	case n == judged:
		p.line("  test results: %d by the maker's numbers and scaling, raw and not judged", n)
		return
	}
	p.line("  test results: %d passed, %d failed, %d not run since cleared, %d that cannot be read", counts["passed"], counts["failed"], counts["not run"], counts["unknown"])
}

// unlimited tells whether a result has no limits to speak of, as counts have.
func (t *TestResult) unlimited() bool { return t.Unit == "count" && t.Min == 0 && t.Max == 0xFFFF }

// cylinderMonitor begins the names of the monitors that count misfires of one cylinder.
const cylinderMonitor = "misfire, cylinder "

// misfires puts the cylinders' counts side by side: this or the last drive cycle, and the
// average of ten.
func (p *page) misfires(list []TestResult) {
	var row []string
	for i := range list {
		number, ok := strings.CutPrefix(list[i].Monitor, cylinderMonitor)
		if !ok || !strings.HasSuffix(list[i].ID, "/0C") {
			continue
		}
		average := "–"
		for k := range list {
			if list[k].Monitor == list[i].Monitor && strings.HasSuffix(list[k].ID, "/0B") {
				average = fmt.Sprintf("%.0f", list[k].Value)
			}
		}
		row = append(row, fmt.Sprintf("cylinder %s: %.0f (%s)", number, list[i].Value, average))
	}
	if len(row) > 0 {
		p.line("  misfires this or the last drive cycle, in brackets the average of ten:")
		p.line("    %s", strings.Join(row, "   "))
		p.line("    one single count is no evidence of a misfire (%s)", practice)
	}
}
