package check

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"judder/obd/drive"
	"judder/obd/reply"
	"judder/pids"
	"judder/pids/refusal"
)

// due says who is to answer a question: those whose maps claim what is asked, and where there are
// no maps everybody who is known.
type due struct {
	maps supportMaps
	id   byte
	list bool // of codes: on the older buses in several messages, of which one may be lost
	most int  // how many answers are due at most, where computers have no names; 0: no bound
}

var (
	everybody = due{}
	codesOf   = due{list: true}          // of everybody
	nobody    = due{maps: supportMaps{}} // and who answers is heard
)

// each asks all computers and hands every whole answer to take, with the computer it is of.
// What take cannot read, and what came damaged, is noted.
func (c *reader) each(what, request string, d due, take func(e *ECU, data []byte) error) error {
	answers, err := c.answersTo(request, d)
	if err != nil {
		return err
	}
	c.became, c.answers = map[string]string{}, 0
	for i := range answers {
		a := &answers[i]
		if a.Outcome != drive.Silent {
			c.answers++
		}
		if (!c.r.Nameless || c.can && len(answers) > c.computers) && a.Outcome == drive.Answered && slices.ContainsFunc(answers[:i], func(b drive.Answer) bool { return b.ECU == a.ECU && bytes.Equal(b.Data, a.Data) }) {
			continue // told twice
		}
		became, why := a.Outcome.String(), a.Outcome.String()
		switch a.Outcome {
		case drive.Answered:
			became, why = ListRead, ""
			if err := take(c.r.ecu(a.ECU), a.Data); err != nil {
				became, why = err.Error(), err.Error()
			}
		case drive.Declined:
			became, why = NotSupported, ""
			if c.must || !unsupported(a.Code) || d.maps.of(a.ECU, d.id) { // what it claims it has
				why = becameText(a)
				became = why
			}
		case drive.Silent:
			became, why = "", ""
		}
		if why != "" {
			c.note(a.ECU, what, why)
		}
		if c.became[a.ECU] == "" || became != ListRead {
			c.became[a.ECU] = became
		}
	}
	return nil
}

// answersTo asks all computers, and once more when somebody who is due said nothing: a reply may
// be lost or come late, and where silence stands for "none" it would pass for that.
func (c *reader) answersTo(request string, d due) ([]drive.Answer, error) {
	first, err := c.q.AskAll(request)
	if err != nil || !c.short(first, d) {
		return first, err
	}
	again, err := c.q.AskAll(request)
	return c.together(first, again, d), err
}

// short tells whether somebody who is due said nothing. What came damaged may be of anybody, and
// was asked for again already.
func (c *reader) short(answers []drive.Answer, d due) bool {
	said, n := map[string]bool{}, 0
	for i := range answers {
		switch a := &answers[i]; {
		case a.Outcome == drive.Damaged && a.ECU == "":
			return false
		case a.Outcome != drive.Silent:
			said[a.ECU] = true
			n++
		}
	}
	switch {
	case c.several(d), c.r.Nameless && !c.can && d.maps == nil && c.computers > 1:
		return true // which is missing does not show
	case c.r.Nameless:
		return n < c.owed(d)
	case d.maps == nil:
		return slices.ContainsFunc(c.r.ECUs, func(e ECU) bool { return !e.further() && !said[e.ID] })
	}
	for ecu := range d.maps {
		if d.maps.of(ecu, d.id) && !said[ecu] {
			return true
		}
	}
	return false
}

// several tells whether a computer may answer in several messages, of which a part looks whole.
func (c *reader) several(d due) bool { return d.list && !c.can && !c.successor }

// owed is how many answers are due where computers have no names.
func (c *reader) owed(d due) int {
	if d.maps == nil {
		return max(c.computers, 1)
	}
	n := d.maps.count(d.id)
	if d.most > 0 {
		n = min(n, d.most)
	}
	return n
}

// together are the answers of two tries: of a computer those of the first in which it said
// anything. Where answers are several, or computers have no names, it is the try that brought more,
// and what only the other one did.
func (c *reader) together(first, again []drive.Answer, d due) []drive.Answer {
	pile := c.r.Nameless || c.several(d)
	if pile && len(again) > len(first) {
		first, again = again, first
	}
	silent := func(a drive.Answer) bool { return a.Outcome == drive.Silent }
	out := slices.DeleteFunc(slices.Clone(first), silent)
	n := len(out)
	for _, a := range again {
		told := func(b drive.Answer) bool {
			return b.ECU == a.ECU && (!pile || b.Outcome == a.Outcome && bytes.Equal(b.Data, a.Data))
		}
		if !silent(a) && !slices.ContainsFunc(out[:n], told) {
			out = append(out, a)
		}
	}
	if len(out) == 0 {
		return first
	}
	return out
}

// fewer is what became of a question to everybody that fewer computers without names answered than
// there are; "" where all did, or where nothing follows from that.
func (c *reader) fewer() string {
	if !c.r.Nameless || !c.can || c.became[""] != ListRead || c.answers >= c.computers {
		return ""
	}
	return fmt.Sprintf("%d of %d computers answered", c.answers, c.computers)
}

// becameText says what became of a question that was not answered.
func becameText(a *drive.Answer) string {
	if a.Outcome == drive.Declined {
		return refusedBegins + refusal.Text(a.Code)
	}
	return a.Outcome.String()
}

// note names what could not be read.
func (c *reader) note(ecu, what, why string) {
	text := what + ": " + strings.TrimPrefix(why, what+", ")
	if ecu == "" {
		c.r.Unread = append(c.r.Unread, text)
		return
	}
	e := c.r.ecu(ecu)
	e.Unread = append(e.Unread, text)
}

// unsupported are the refusals that say no more than that a computer does not have it
// (ISO 14229-1: 11 service, 12 sub-function, 31 out of range).
func unsupported(code byte) bool { return code == 0x11 || code == 0x12 || code == 0x31 }

// parameters keeps which parameters of service 01 each computer supports. At set-up a map may have
// been lost: a computer without its first is asked for it once more. Where computers have no names,
// the answers show how many there are, and how many of them support what.
func (c *reader) parameters() error {
	c.learn()
	missing := []string{}
	for _, id := range named(c.q.ECUs()) {
		if !c.params.first(id) {
			missing = append(missing, id)
		}
	}
	if len(missing) == 0 && !c.r.Nameless {
		return nil
	}
	if c.r.Nameless {
		if err := c.count(); err != nil {
			return err
		}
	}
	told, err := c.supports("parameters", func(base byte) string { return c.q.Parameters(base) }, func(base byte, data []byte) []byte {
		if d := reply.ParameterData(data); len(d) == 5 && d[0] == base {
			return d[1:]
		}
		return nil
	})
	if err != nil {
		return err
	}
	for id, m := range told {
		c.params.add(id, m.Has)
	}
	for _, id := range missing {
		if told[id] == nil && !c.r.Nameless {
			c.note(id, "readiness, regulation and counts", "not known whether this computer tells them: its map of what it supports did not come")
		}
	}
	return nil
}

// learn keeps what the set-up says of what is supported: a later one may know less.
func (c *reader) learn() {
	if c.params == nil {
		c.params = supportMaps{}
	}
	for _, id := range named(c.q.ECUs()) {
		c.params.add(id, func(pid byte) bool { return c.q.Supports(id, pid) })
	}
}

// countTries bounds how often computers without names are counted.
const countTries = 4

// count counts computers without names, until two counts in a row agree: a reply may be lost, or
// be told twice.
func (c *reader) count() error {
	for try, was := 0, -1; try < countTries; try++ {
		answers, err := c.q.AskAll(c.q.Parameters(0))
		if err != nil {
			return err
		}
		n := 0
		for i := range answers {
			if answers[i].Outcome == drive.Answered {
				n++
			}
		}
		if c.computers = max(c.computers, n); n == was {
			c.computers = n
			break
		}
		was = n
	}
	return nil
}

// parameter asks for one parameter, where some computer supports it.
func (c *reader) parameter(pid byte, what string, take func(e *ECU, part pids.Part) error) error {
	c.learn()
	if !c.r.Nameless && !c.params.any(pid) { // the maps of several computers cannot be kept apart there
		return nil
	}
	d := due{maps: c.params, id: pid}
	err := c.each(what, c.q.Parameters(pid), d, func(e *ECU, data []byte) error {
		parts, err := pids.Split(nil, reply.ParameterData(data), pid)
		if err != nil || len(parts) != 1 {
			return err
		}
		return take(e, parts[0])
	})
	if err != nil {
		return err
	}
	for _, id := range c.silentTo(d, c.became) {
		c.note(id, what, silentToClaim)
	}
	return nil
}
