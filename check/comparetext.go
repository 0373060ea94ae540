package check

import (
	"cmp"
	"io"
	"strings"
)

// WriteText writes two checks side by side.
func (c Comparison) WriteText(w io.Writer) error {
	p := &page{w: w}
	p.line("what changed between two standing checks")
	p.side("before", &c.Before)
	p.side("after", &c.After)
	p.line("  same car  %s", c.SameCar)
	if c.Reversed {
		p.line("  ORDER     the second check is the older one: what is called new is gone, and the other way round; give the older one first")
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

func (p *page) side(name string, s *Side) {
	when := "no time told   "
	if !s.Time.IsZero() {
		when = s.Time.Format("2006-01-02 15:04")
	}
	p.line("  %-9s %s  %s", name, when, strings.TrimSpace(s.VIN+"  "+s.File))
}

// changes are told computer by computer, in the order in which these first come.
func (p *page) changes(list []Change) {
	var order []string
	of := map[string][]Change{}
	for _, x := range list {
		if of[x.ECU] == nil {
			order = append(order, x.ECU)
		}
		of[x.ECU] = append(of[x.ECU], x)
	}
	for _, ecu := range order {
		p.line("%s", strings.TrimSpace(ecu+"  "+of[ecu][0].Name))
		for _, x := range of[ecu] {
			p.change(&x)
		}
	}
}

func (p *page) change(x *Change) {
	states := x.Was
	if x.Is != x.Was {
		states = cmp.Or(x.Was, "–") + " → " + cmp.Or(x.Is, "–")
	}
	line := "  " + pad(x.What, 11) + pad(cmp.Or(x.Code, x.Item), 11) + pad(states, 20)
	if text := x.Text; text == "" || len([]rune(line+text)) <= lineWidth {
		p.line("%s", strings.TrimRight(line+text, " "))
	} else {
		p.line("%s", strings.TrimRight(line, " "))
		p.line("            %s", text)
	}
	if x.Note != "" {
		p.line("            %s", x.Note)
	}
}

// lineWidth is up to where a line of text stands in the narrowest usual terminal.
const lineWidth = 79

// pad fills text up to a width, and parts it from what follows by two blanks at least.
func pad(text string, width int) string {
	n := max(width-len([]rune(text)), 2)
	return text + strings.Repeat(" ", n)
}
