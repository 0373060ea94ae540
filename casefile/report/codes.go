package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/compare"
	"github.com/judder-obd/judder/check/page"
	"github.com/judder-obd/judder/pids"
)

// checks are the code checks of the paper's stages that can be read, in order of time.
func (w *writer) checks() (list []*casefile.CheckFile) {
	for i := range w.e.Checks {
		if c := &w.e.Checks[i]; c.Report != nil && slices.Contains(w.stages(), c.File.Stage) {
			list = append(list, c)
		}
	}
	slices.SortStableFunc(list, func(a, b *casefile.CheckFile) int {
		return cmp.Or(stageOrder(a.File.Stage, b.File.Stage), a.Report.Time.Compare(b.Report.Time))
	})
	return list
}

// codes are the codes of every check with their freeze frames, what changed from the first before
// the work to the last after it, and the last check of each stage in full.
func (w *writer) codes() (list []Section) {
	s := Section{Title: "Trouble codes"}
	checks := w.checks()
	for i := range w.e.Checks {
		if c := &w.e.Checks[i]; c.Err != nil {
			s.Text = append(s.Text, fmt.Sprintf("The code check %s cannot be read: %v.", c.File.Name, c.Err))
		}
	}
	if len(checks) == 0 {
		s.Text = append(s.Text, "No code check is part of this paper. Whether codes are stored is not known.")
		return []Section{s}
	}
	for _, c := range checks {
		s.Tables = append(s.Tables, codeTable(c))
		if t := freezeTable(c); t.Rows != nil {
			s.Tables = append(s.Tables, t)
		}
		if c.Report.BrokeOff != nil {
			s.Text = append(s.Text, fmt.Sprintf("The check of %s is NOT COMPLETE: it stopped early, at %s.", stamp(c.Report.Time), c.Report.BrokeOff.Words()))
		}
	}
	list = append(list, s)
	if before, after := checkOf(checks, casefile.Before), checkOf(checks, casefile.After); before != nil && after != nil {
		list = append(list, Section{Title: "Codes before and after", Plain: printed(func(b *strings.Builder) error {
			return page.WriteComparison(b, compared(before.Report, after.Report))
		})})
	}
	last := checks[len(checks)-1]
	return append(list, Section{Title: "The last code check in full", Plain: printed(func(b *strings.Builder) error { return page.WriteCheck(b, w.masked(last.Report)) })})
}

// masked is a report whose bytes are masked before a page cuts them short.
func (w *writer) masked(r *check.Report) *check.Report {
	mask := w.mask()
	c := *r
	c.ECUs = slices.Clone(r.ECUs)
	for i := range c.ECUs {
		codes := slices.Clone(c.ECUs[i].Codes)
		for k := range codes {
			codes[k].Snapshot, codes[k].Extended = mask.Replace(codes[k].Snapshot), mask.Replace(codes[k].Extended)
		}
		c.ECUs[i].Codes = codes
	}
	return &c
}

// compared puts two checks side by side.
func compared(before, after *check.Report) *compare.Comparison {
	c := compare.Checks(before, after)
	if !after.SameConnectionAs.IsZero() && after.SameConnectionAs.Equal(before.Time) {
		c.SameConnection()
	}
	return c
}

// checkOf is the check that stands for a stage: the first before the work, the last after it.
func checkOf(list []*casefile.CheckFile, stage casefile.Stage) (found *casefile.CheckFile) {
	for _, c := range list {
		if c.File.Stage == stage && (found == nil || stage == casefile.After) {
			found = c
		}
	}
	return found
}

func printed(write func(*strings.Builder) error) string {
	var b strings.Builder
	if err := write(&b); err != nil {
		return err.Error()
	}
	return strings.TrimRight(b.String(), "\n")
}

func codeTable(c *casefile.CheckFile) Table {
	t := Table{Caption: fmt.Sprintf("Codes, %s, %s the work", stamp(c.Report.Time), c.File.Stage), Head: []string{"Control unit", "Code", "State", "What it says"}}
	for s := range c.Report.Codes() {
		var states []string
		for _, state := range s.States {
			states = append(states, state.String())
		}
		t.Rows = append(t.Rows, []string{s.ECU.Called(), s.Code, strings.Join(states, ", "), cmp.Or(s.Text, "no text known; see the maker's information")})
	}
	for i := range c.Report.ECUs {
		e := &c.Report.ECUs[i]
		if open := e.Lists.Unread(); len(open) > 0 {
			var names []string
			for _, l := range open {
				names = append(names, string(l))
			}
			t.Rows = append(t.Rows, []string{e.Called(), "–", "NOT READ", strings.Join(names, ", ") + " codes"})
		}
	}
	switch {
	case len(c.Report.ECUs) == 0:
		t.Rows = [][]string{{"none answered", "–", "NOT READ", "all codes"}}
	case t.Rows == nil:
		t.Rows = [][]string{{"all that answered", "–", "–", "no codes"}}
	}
	return t
}

// allRead reports whether a check read every list of codes of whoever answered: only then does a code
// that is not in it say something.
func allRead(r *check.Report) bool {
	return r.BrokeOff == nil && len(r.ECUs) > 0 && !slices.ContainsFunc(r.ECUs, func(e check.ECU) bool { return len(e.Lists.Unread()) > 0 })
}

// frozenShown are the parameters of a freeze frame that say how the car was driven; the check in full
// has the others.
var frozenShown = []pids.Signal{pids.RPM, pids.VSS, pids.LoadPct, pids.ECT, pids.TP, pids.TPR, pids.APPD}

func freezeTable(c *casefile.CheckFile) Table {
	t := Table{Caption: "Freeze frames of this check", Head: []string{"Control unit", "Code", "How the car was driven then"}}
	for i := range c.Report.ECUs {
		e := &c.Report.ECUs[i]
		for k := range e.Freezes {
			f := &e.Freezes[k]
			var values []string
			for j := range f.Values {
				v := &f.Values[j]
				if !slices.Contains(frozenShown, v.Signal) {
					continue
				}
				values = append(values, v.Name+" "+cmp.Or(v.Text, strings.TrimSpace(fmt.Sprintf("%.4g", v.Value)+" "+v.Unit)))
			}
			if f.Cut {
				values = append(values, "NOT COMPLETE")
			}
			t.Rows = append(t.Rows, []string{e.Called(), f.Code, strings.Join(values, "; ")})
		}
	}
	return t
}

// sameCar is whether all checks of the case are of one car, by their numbers or digests; "" with
// fewer than two.
func (w *writer) sameCar() string {
	var first *check.Report
	answer := ""
	for i := range w.e.Checks {
		r := w.e.Checks[i].Report
		switch {
		case r == nil || r.VIN == "" && r.VINDigest == "" && !r.VINAsked: // nobody asked, as inside a drive
		case first == nil:
			first = r
		default:
			switch compared(first, r).SameCar {
			case compare.TwoCars:
				return twoCars + "two identification numbers"
			case compare.CannotTell:
				answer = "not compared: a check has no whole number and no digest"
			case compare.Same:
				answer = cmp.Or(answer, "yes")
			}
		}
	}
	return answer
}
