package report

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/prose"
)

// A phone call has room for so many lines of so many cells.
const (
	phoneLines = 20
	phoneWidth = 78
	phoneEach  = 3 // lines for one thing
)

// answerHead stands before the answer, doubtHead before the reasons not to rely on it. They may have more
// lines than other things.
const (
	answerHead = "ANSWER"
	doubtHead  = "DOUBT"
)

// phone is the paper for a phone call.
type phone struct{ *writer }

// lines are what somebody at the other end asks for, the first thing first. What does not fit is left out from the end.
func (w *phone) lines() (list []string) {
	say := func(name, text string) {
		if text == "" {
			return
		}
		const indent = 11
		wrapped := prose.WrapText(text, phoneWidth-indent)
		most := phoneEach
		switch name {
		case answerHead:
			most++
		case doubtHead:
			most += 2
		}
		if len(wrapped) > most {
			wrapped = wrapped[:most]
			wrapped[most-1] += " …"
		}
		for i, line := range wrapped {
			head := ""
			if i == 0 {
				head = name
			}
			list = append(list, strings.TrimRight(fmt.Sprintf("%-*s%s", indent, head, line), " "))
		}
	}
	c := &w.e.Case
	say("CASE", joined(", ", w.title(), prefixed("VIN ", w.vin()), km(c.Car.OdometerKM, ""), prefixed("contract ", c.Request.Contract)))
	say("COMPLAINT", c.Complaint.Sentence())
	say(answerHead, w.answer.Words())
	say(doubtHead, joined(" ", w.doubts()...))
	say("FELT", w.answer.Felt())
	if w.o.Stage == casefile.Before {
		say("BRAKE", joined("; ", w.contrasts()...))
		say("ASKED", joined("; ", c.Request.Authorise, prefixed("estimate ", c.Request.Estimate)))
	} else {
		say("DONE", strings.Join(w.done().List, "; "))
	}
	say("NUMBER", joined(", ", c.Request.Number, day(c.Request.Given)))
	say("CODES", w.codesInShort())
	say("FEEL IT", w.feelInShort())
	if x := w.weigh(); len(x.untested) > 0 {
		say("UNTESTED", fmt.Sprintf("%d tests, first: %s", len(x.untested), x.untested[0]))
	}
	say("LIMIT", "No reading says which part makes it.")
	if w.o.Stage == casefile.Before {
		say("FLUID", w.fluidInShort())
	}
	say("MADE BY", w.o.Program+", "+stamp(w.o.Now))
	return list[:min(len(list), phoneLines)]
}

func (w *phone) codesInShort() string {
	checks := w.checks()
	if len(checks) == 0 {
		return "no code check"
	}
	last := checks[len(checks)-1]
	var codes []string
	for s := range last.Report.Codes() {
		if code := s.Code + " " + s.States[0].String(); !slices.Contains(codes, code) { // two modules may store one code
			codes = append(codes, code)
		}
	}
	text := strings.Join(codes, ", ")
	switch {
	case codes == nil && allRead(last.Report):
		text = "none stored"
	case codes == nil:
		text = "not known: not all codes could be read"
	case !allRead(last.Report):
		text += "; not all codes could be read"
	}
	return fmt.Sprintf("%s (%s, %s the work)", text, stamp(last.Report.Time), last.File.Stage)
}

func (w *phone) fluidInShort() string {
	for i := len(w.e.Case.Looks) - 1; i >= 0; i-- {
		if l := &w.e.Case.Looks[i]; l.Fluid != nil {
			return joined("; ", l.Note, l.Fluid.Words())
		}
	}
	return ""
}

func (w *phone) feelInShort() string {
	var parts []string
	for _, f := range w.feel().Facts {
		parts = append(parts, strings.ToLower(f.Name)+" "+f.Value)
	}
	return strings.Join(parts, ", ")
}

// WriteText writes the paper for a phone call, in at most 20 lines.
func (p *Paper) WriteText(out io.Writer) error {
	for _, line := range p.Phone {
		if _, err := fmt.Fprintln(out, line); err != nil {
			return err
		}
	}
	return nil
}
