package page

import (
	"cmp"
	"io"
	"strings"

	"github.com/judder-obd/judder/check/compare"
)

// WriteComparison writes what changed from one check to the next.
func WriteComparison(w io.Writer, c *compare.Comparison) error {
	p := &lines{w: w}
	p.line("what changed between two code checks")
	p.side("before", &c.Before)
	p.side("after", &c.After)
	p.line("  same car  %s", sameCar[c.SameCar])
	if c.Reversed {
		p.line("  ORDER     the second check is the older one: new means gone, and gone means new; give the older one first")
	}
	p.line("")
	if len(c.Changes) == 0 {
		p.line("no codes in what both checks could read")
	}
	p.changes(c.Changes)
	if len(c.Others) > 0 {
		p.line("")
		p.line("what else changed:")
		p.changes(c.Others)
	}
	if len(c.Notes) > 0 {
		p.line("")
	}
	for _, n := range c.Notes {
		p.line("note: %s", n)
	}
	return p.err
}

// sameCar are the words of whether two checks are of one car.
var sameCar = map[compare.SameCar]string{
	compare.Same: "yes", compare.CannotTell: "not compared", compare.TwoCars: "NO: two identification numbers",
}

func (p *lines) side(name string, s *compare.Side) {
	when := "time not known  "
	if !s.Time.IsZero() {
		when = s.Time.Format("2006-01-02 15:04")
	}
	p.line("  %-9s %s  %s", name, when, strings.TrimSpace(s.VIN+"  "+s.File))
}

// changes are written ECU by ECU, in the order in which these first come.
func (p *lines) changes(list []compare.Change) {
	var order []string
	of := map[string][]compare.Change{}
	for _, x := range list {
		if of[x.ECU] == nil {
			order = append(order, x.ECU)
		}
		of[x.ECU] = append(of[x.ECU], x)
	}
	for _, ecu := range order {
		p.line("%s", strings.TrimSpace(ecu+"  "+of[ecu][0].Name))
		for i := range of[ecu] {
			p.change(&of[ecu][i])
		}
	}
}

func (p *lines) change(x *compare.Change) {
	states := x.Was
	if x.Is != x.Was {
		states = cmp.Or(x.Was, "–") + " → " + cmp.Or(x.Is, "–")
	}
	p.line("  %-9s  %-9s  %s", x.What, cmp.Or(x.Code, x.Item), states)
	for _, text := range []string{x.Text, x.Note} {
		if text != "" {
			p.line("            %s", text)
		}
	}
}
