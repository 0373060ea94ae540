package compare

import (
	"slices"
	"strings"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/pids/dtc"
)

// codes compares the codes of all ECUs.
func (c *Comparison) codes(before, after *check.Report) {
	is := slices.Collect(after.Codes())
	same := func(a *check.Stated) func(check.Stated) bool {
		return func(b check.Stated) bool { return a.ECU.ID == b.ECU.ID && a.Code == b.Code }
	}
	was := slices.Collect(before.Codes())
	for i := range was {
		now := check.Stated{Code: was[i].Code, ECU: after.Find(was[i].ECU.ID)}
		if k := slices.IndexFunc(is, same(&was[i])); k >= 0 {
			now = is[k]
		}
		c.Changes = append(c.Changes, change(before, after, &was[i], &now))
	}
	for i := range is {
		if !slices.ContainsFunc(was, same(&is[i])) {
			c.Changes = append(c.Changes, appeared(before, &is[i]))
		}
	}
}

func statesText(s *check.Stated) string {
	var out []string
	for _, state := range s.States {
		out = append(out, state.String())
	}
	return strings.Join(out, ", ")
}

// change is what became of a code that was there before.
func change(before, after *check.Report, was, is *check.Stated) Change {
	c := Change{ECU: was.ECU.ID, Name: was.ECU.Label(), Code: was.Code, What: Unchanged, Was: statesText(was), Is: statesText(is), Text: was.Text}
	var reasons []Reason
	if reason, ok := unread(after, was.ECU, Second); ok {
		reasons = append(reasons, reason)
	}
	if len(is.States) > 0 {
		if reason, ok := unread(before, is.ECU, First); ok {
			reasons = append(reasons, reason)
		}
	}
	switch {
	case len(is.States) == 0 && reasons != nil:
		c.because(NotRead, reasons)
	case len(is.States) == 0:
		c.What = Gone
	case c.Was == c.Is:
	case proves(is, was, was.ECU) || proves(was, is, is.ECU):
		c.because(Changed, reasons)
	default:
		c.because(NotRead, reasons)
	}
	return c
}

func (c *Change) because(what What, reasons []Reason) {
	c.What, c.Reasons = what, reasons
	var words []string
	for i := range reasons {
		words = append(words, reasons[i].String())
	}
	c.Note = strings.Join(words, "; ")
}

// proves reports whether a state that the other check does not have of the code is surely not
// there, because its ECU reported that list whole. A status that both report is one and the
// same thing, whatever else is in the list.
func proves(s, other *check.Stated, e *check.ECU) bool {
	for _, state := range s.States {
		switch {
		case slices.Contains(other.States, state):
		case state == dtc.Permanent || !byStatus(s.Code):
			if became, kept := e.Lists[check.List(state.String())]; !kept || became.Kind == check.Read {
				return true
			}
		case len(e.Lists.Unread()) == 0, slices.ContainsFunc(other.States, func(o dtc.State) bool { return o != dtc.Permanent }):
			return true
		}
	}
	return false
}

// byStatus reports whether a code is of service 19, where it has one state by its status.
func byStatus(code string) bool { return len(code) != len("P0741") }

// appeared is a code that was not there before, or not read.
func appeared(before *check.Report, is *check.Stated) Change {
	c := Change{ECU: is.ECU.ID, Name: is.ECU.Label(), Code: is.Code, What: New, Is: statesText(is), Text: is.Text}
	if reason, ok := unread(before, is.ECU, First); ok {
		c.because(NotRead, []Reason{reason})
	}
	return c
}

// unread is why a check cannot speak of an ECU's codes as the other one does; ok is false when
// it can.
func unread(r *check.Report, other *check.ECU, time Time) (why Reason, ok bool) {
	why.Time = time
	e := r.Find(other.ID)
	switch {
	case e == nil && (r.Nameless || other.ID == ""):
		why.Kind = NoNames
		return why, true
	case e == nil:
		asked := slices.ContainsFunc(r.Modules, func(a check.Asked) bool { return a.Reply == other.ID && !a.Unreachable })
		why.Kind = NoAnswer
		if other.Module != "" && !asked {
			why.Kind = NotAsked
		}
		return why, true
	}
	why.Kind = ListsUnread
	for list, became := range other.Lists {
		if became.Kind != check.NotSupported && became.Kind != check.MaybeNotKept && e.Lists[list].Kind != check.Read {
			why.Lists = append(why.Lists, list)
		}
	}
	slices.Sort(why.Lists)
	return why, why.Lists != nil
}
