package check

import (
	"fmt"
	"slices"
	"strings"
)

// WouldClear says, a line each, what clearing would take, what of that nobody has seen, and
// what it would leave; whole is false when there is anything unseen. The request goes to the
// emission-related computers (SAE J1979); further ones may keep theirs.
func (r *Report) WouldClear() (lines []string, whole bool) {
	var unseen, stay, further []string
	all := r.states()
	for _, k := range all.order {
		e := r.find(k.ecu)
		var lost []string
		for _, s := range all.of[k].states {
			if s == "permanent" {
				stay = append(stay, k.code+" permanent ("+e.called()+")")
			} else {
				lost = append(lost, s)
			}
		}
		switch {
		case len(lost) == 0:
		case e.further():
			text := k.code + " " + strings.Join(lost, ", ") + " (" + e.called() + "), a further computer"
			if len(e.ID) == 3 && (e.ID < "7E8" || e.ID > "7EF") {
				text += ", to which the request is not addressed"
			}
			further = append(further, text)
		default:
			lines = append(lines, fmt.Sprintf("would be cleared: %s %s (%s)", k.code, strings.Join(lost, ", "), e.called()))
		}
	}
	for i := range r.ECUs {
		e := &r.ECUs[i]
		if open := e.Lists.unread(); e.further() && open != nil {
			further = append(further, fmt.Sprintf("codes of %s, a further computer, which could not be read (%s)", e.called(), strings.Join(open, ", ")))
		}
		if !e.further() {
			kept, missed := e.wouldLose()
			lines, unseen = append(lines, kept...), append(unseen, missed...)
		}
	}
	if lines == nil {
		lines = []string{"nothing was found that clearing would remove; the readiness of self-tests and all counts would be lost all the same"}
	}
	for _, u := range unseen {
		lines = append(lines, "would be cleared UNSEEN: "+u)
	}
	for _, s := range stay {
		lines = append(lines, "stays: "+s)
	}
	for _, f := range further {
		lines = append(lines, "may stay or go: "+f)
	}
	return lines, unseen == nil
}

// wouldLose is what a computer would lose besides its codes: what the check has kept, and
// what it could not read.
func (e *ECU) wouldLose() (kept, missed []string) {
	add := func(what string) { kept = append(kept, fmt.Sprintf("would be cleared: %s (%s)", what, e.called())) }
	for _, f := range e.Freezes {
		add("the freeze frame of " + f.Code)
		if f.Cut {
			missed = append(missed, fmt.Sprintf("part of the freeze frame of %s (%s), which could not be read", f.Code, e.called()))
		}
	}
	if e.FreezeState != ListRead {
		missed = append(missed, fmt.Sprintf("a freeze frame, if there is one (%s): %s", e.called(), e.FreezeState))
	}
	open := slices.DeleteFunc(e.Lists.unread(), func(list string) bool { return list == "permanent" }) // they stay
	if len(open) > 0 {
		missed = append(missed, fmt.Sprintf("%s codes, if there are any (%s), which could not be read", strings.Join(open, ", "), e.called()))
	}
	if e.TestState != ListRead && e.TestState != "" {
		missed = append(missed, fmt.Sprintf("test results or misfire counts (%s): %s", e.called(), e.TestState))
	}
	done := 0
	for _, m := range e.Readiness {
		if m.Complete {
			done++
		}
	}
	if done > 0 {
		add(fmt.Sprintf("the readiness of the self-tests that are complete: %d", done))
	}
	if counts := e.misfires(); counts != nil {
		add("misfire counts: " + strings.Join(counts, ", "))
	}
	if text := e.Cleared.text(); text != "" {
		add("distance, time and warm-ups since the last clearing: " + text)
	}
	return kept, missed
}

// further tells a computer that only its own address reaches from one of the legislated ones,
// which a user or a profile may have named as well, and which clearing reaches.
func (e *ECU) further() bool {
	return e.Module != "" && !e.Lists.legislated()
}
