// Package page puts a code check, a comparison of two, and what clearing would take into words
// for people.
package page

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	"github.com/judder-obd/judder/check"
)

// lines writes lines and keeps the first error.
type lines struct {
	w   io.Writer
	err error
}

func (p *lines) line(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, format+"\n", args...)
	}
}

// WriteCheck writes a report: what to do first, then the stored codes of all modules.
func WriteCheck(w io.Writer, r *check.Report) error {
	p := &lines{w: w}
	p.head(r)
	p.triage(r.Triage)
	for i := range r.ECUs {
		p.ecu(&r.ECUs[i])
	}
	p.modules(r)
	for _, u := range r.Unread {
		p.line("not read: %s", u.Words())
	}
	return p.err
}

func (p *lines) head(r *check.Report) {
	p.line("code check of %s", r.Time.Format("2006-01-02 15:04"))
	if r.BrokeOff != nil {
		p.line("  NOT COMPLETE: it stopped early, at %s", r.BrokeOff.Words())
	}
	switch {
	case r.VIN != "":
		p.line("  VIN       %s%s", r.VIN, year(r.ModelYear))
		if r.VINNote != "" {
			p.line("            %s", r.VINNote)
		}
	case r.VINAsked:
		p.line("  VIN       not read")
	}
	p.line("  bus       %s", cmp.Or(r.Protocol, "not known: this adapter does not report it"))
	supply := "not known: this adapter does not report it"
	if r.Volts > 0 {
		supply = fmt.Sprintf("%.1f V at the socket", r.Volts)
	}
	p.line("  supply    %s", supply)
	switch {
	case r.EngineRPM == nil:
		p.line("  engine    not known whether it was running")
	case *r.EngineRPM > 0:
		p.line("  engine    running at %.0f rpm", *r.EngineRPM)
	default:
		p.line("  engine    off")
	}
	p.line("")
}

func year(y int) string {
	if y == 0 {
		return ""
	}
	return fmt.Sprintf("  (model year %d by the North American code)", y)
}

func (p *lines) triage(list []check.Advice) {
	if len(list) == 0 {
		p.line("no stored code needs work first")
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

// modules says which further modules were asked, and how to have others asked.
func (p *lines) modules(r *check.Report) {
	var silent []string
	for i := range r.Modules {
		if m := &r.Modules[i]; m.Silent() {
			silent = append(silent, m.Called())
		}
	}
	if silent != nil {
		p.line("asked, no answer: %s", strings.Join(silent, ", "))
	}
	if r.Swept && len(r.Modules) > 0 {
		p.line("all standard addresses were asked; with 11 bits, only replies 8 above the request address were heard")
	}
	switch {
	case len(r.Modules) > 0 || r.BrokeOff != nil:
	case r.Swept:
		p.line("further modules (brakes, body, ...): none answered at the standard addresses; --module or --profile names one elsewhere")
	case r.OlderBus:
		p.line("further modules (brakes, body, ...) were not asked: on this bus none has an address of its own; the maker's tool reads them")
	default:
		p.line("further modules (brakes, body, ...) were not asked; --module, --profile or --sweep names them")
	}
}
