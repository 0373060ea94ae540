package check

import (
	"fmt"
	"strings"
)

// WouldClear says, a line each, what clearing would take and what it would leave. The request
// goes to the emission-related computers (SAE J1979); further ones may keep theirs.
func (r *Report) WouldClear() (lines []string) {
	var stay []string
	for _, k := range r.states().order {
		e, states := r.find(k.ecu), r.states().of[k]
		var lost []string
		for _, s := range states.states {
			if s == "permanent" {
				stay = append(stay, k.code+" permanent ("+e.called()+")")
			} else {
				lost = append(lost, s)
			}
		}
		switch {
		case len(lost) == 0:
		case e.Module != "":
			stay = append(stay, k.code+" "+strings.Join(lost, ", ")+" ("+e.called()+", a further computer: may stay)")
		default:
			lines = append(lines, fmt.Sprintf("would be cleared: %s %s (%s)", k.code, strings.Join(lost, ", "), e.called()))
		}
	}
	for i := range r.ECUs {
		e := &r.ECUs[i]
		if e.Freeze != nil {
			lines = append(lines, fmt.Sprintf("would be cleared: the freeze frame of %s (%s)", e.Freeze.Code, e.called()))
		}
		if open := e.Lists.unread(); open != nil {
			lines = append(lines, fmt.Sprintf("would be cleared UNSEEN: %s codes of %s, which could not be read", strings.Join(open, ", "), e.called()))
		}
	}
	if lines == nil {
		lines = append(lines, "no code that clearing would remove was found; readiness and counts would be lost all the same")
	}
	for _, s := range stay {
		lines = append(lines, "stays: "+s)
	}
	return lines
}
