package report

import (
	"fmt"
	"slices"
	"strings"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/detect/cause"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/session"
)

// weighed is what the drives before the work say of causes, a line each.
type weighed struct {
	drives   int
	clutch   []string // for the converter clutch
	against  []string // against other causes
	open     []string // for other causes, or against the clutch
	untested []string // by every drive
}

// weigh gathers the lines of the ledgers of the drives before the work, and nothing beyond them.
func (w *writer) weigh() (x weighed) {
	var drives []*casefile.DriveFile
	for i := range w.e.Drives {
		if d := &w.e.Drives[i]; d.Err == nil && d.File.Stage == casefile.Before {
			drives = append(drives, d)
		}
	}
	x.drives = len(drives)
	untested := map[string]int{}
	var order []string
	for _, d := range drives {
		l := w.ledger(d)
		for i := range l.Lines {
			line := &l.Lines[i]
			words := line.Words()
			named := fmt.Sprintf("%s: %s", line.Cause, words)
			if line.Side == cause.Untested {
				if untested[named] == 0 {
					order = append(order, named)
				}
				untested[named]++
				continue
			}
			which := ""
			if len(drives) > 1 {
				which = " · " + strings.TrimPrefix(d.File.Name, "drives/")
			}
			x.take(line, words, named, which)
		}
	}
	for _, words := range order {
		if untested[words] == len(drives) {
			x.untested = append(x.untested, words)
		}
	}
	return x
}

func (x *weighed) take(line *cause.Line, words, named, which string) {
	clutch := line.Cause == cause.ConverterClutch
	switch {
	case clutch && line.Side == cause.For:
		x.clutch = append(x.clutch, words+which)
	case !clutch && line.Side == cause.Against:
		x.against = append(x.against, named+which)
	default:
		x.open = append(x.open, fmt.Sprintf("%s %s", line.Side, named)+which)
	}
}

// causes is what speaks for and against, and what was not tested.
func (w *writer) causes() Section {
	s := Section{Title: "What speaks for and against, and what was not tested"}
	x := w.weigh()
	switch {
	case x.drives == 0:
		s.Text = []string{"Nothing was ruled out: no drive before the work is part of this case."}
		return s
	case len(x.clutch)+len(x.against) == 0:
		s.Text = []string{"Nothing was ruled out by these drives."}
	}
	for _, part := range []struct {
		title string
		lines []string
	}{{"Speaks for the converter clutch", x.clutch}, {"Speaks against other causes", x.against}, {"Open: speaks the other way", x.open}, {"Not tested", x.untested}} {
		if part.lines != nil {
			s.Tables = append(s.Tables, oneColumn(part.title, part.lines))
		}
	}
	return s
}

func oneColumn(title string, lines []string) Table {
	t := Table{Head: []string{title}}
	for _, l := range lines {
		t.Rows = append(t.Rows, []string{l})
	}
	return t
}

// ledger is the ledger of a drive, with the codes of the checks from the same side of the repair.
func (w *writer) ledger(d *casefile.DriveFile) cause.Ledger {
	r := d.Result
	r.Codes, r.Checks = slices.Clone(r.Codes), slices.Clone(r.Checks)
	for i := range w.e.Checks {
		c := &w.e.Checks[i]
		if c.Report == nil || c.File.Stage != d.File.Stage || c.Report.BrokeOff != nil {
			continue
		}
		if allRead(c.Report) {
			r.Checks, r.CodesRead = append(r.Checks, session.CodeCheck{}), true
		}
		for ecu, code := range c.Report.EachCode() {
			r.Codes = append(r.Codes, session.Code{ECU: ecu.ID, Code: code.Code})
		}
	}
	l := session.LedgerOf(&r)
	for i := range l.Lines {
		if x := &l.Lines[i]; x.Rule == cause.MisfireCode {
			x.At = nil // the check may be of another time than the drive
		}
	}
	return l
}

// contrasts are what a touch of the brake did in the drives before the work.
func (w *writer) contrasts() (list []string) {
	for i := range w.e.Drives {
		d := &w.e.Drives[i]
		if d.File.Stage != casefile.Before || d.Err != nil {
			continue
		}
		for k := range d.Result.Contrasts {
			c := &d.Result.Contrasts[k]
			if c.Kind != steps.ClutchRelease || c.With == 0 {
				continue
			}
			list = append(list, c.Words())
		}
	}
	return list
}
