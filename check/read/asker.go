package read

import (
	"bytes"
	"errors"
	"fmt"
	"slices"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/pids"
)

// asker asks all ECUs at once and keeps what cannot be read in the report.
type asker struct {
	q         *inquiry.Inquiry
	r         *check.Report
	can       bool // CAN, with headers or without
	successor bool // SAE J1979-2
	report    func(doing check.Item, done, of int)
}

// due says who is to answer a question: those whose maps claim it, and where there are no maps
// every known ECU.
type due struct {
	maps supportMaps
	id   byte
	list bool // of codes: on the older buses in several messages, and one of them may be lost
	must bool // every ECU must have it: a refusal is no "none"
}

var (
	everybody = due{}
	nobody    = due{maps: supportMaps{}} // and who answers is heard
)

// round is what became of one question to all ECUs.
type round struct {
	became  map[string]check.Outcome // by ECU; under "" of replies that belong to no known ECU
	answers int
}

func (a *asker) progress(doing check.Item, done, of int) {
	if a.report != nil {
		a.report(doing, done, of)
	}
}

// note names what could not be read.
func (a *asker) note(ecu string, item check.Item, why check.Outcome) {
	n := check.Note{Item: item, Outcome: why}
	if ecu == "" {
		a.r.Unread = append(a.r.Unread, n)
		return
	}
	e := a.r.ECU(ecu)
	e.Unread = append(e.Unread, n)
}

// noteError names what a parser could not read. An error that names the item itself is not
// written twice.
func (a *asker) noteError(ecu string, item check.Item, err error) {
	why := worded(err)
	if d := (*pids.DataError)(nil); errors.As(err, &d) && d.What == item.String() {
		why.Text = fmt.Sprintf("byte %d: %v; ask again", d.Offset, d.Err)
	}
	a.note(ecu, item, why)
}

func worded(err error) check.Outcome {
	return check.Outcome{Kind: check.Worded, Text: err.Error()}
}

// outcomeOf is what became of an answer that stands for itself.
func outcomeOf(x *inquiry.Answer) check.Outcome {
	switch x.Outcome {
	case inquiry.Answered:
		return check.Of(check.Read)
	case inquiry.Declined:
		return check.RefusedWith(x.Code)
	case inquiry.Damaged:
		return check.Of(check.Damaged)
	case inquiry.Pending:
		return check.Of(check.Pending)
	case inquiry.Misdirected:
		return check.Of(check.Misdirected)
	}
	return check.Of(check.Silent)
}

// outcomeOf is what became of an answer to a question to all. Where replies of several ECUs come
// mixed, another one may be missing.
func (a *asker) outcomeOf(x *inquiry.Answer) check.Outcome {
	if x.Outcome == inquiry.Answered && a.r.Nameless {
		return check.Of(check.Mixed)
	}
	return outcomeOf(x)
}

// each asks all ECUs and hands every whole answer to take, with its ECU. What take cannot read,
// and what came damaged, is noted.
func (a *asker) each(item check.Item, request string, d due, take func(e *check.ECU, data []byte) error) (round, error) {
	answers, err := a.answersTo(request, d)
	if err != nil {
		return round{}, err
	}
	out := round{became: map[string]check.Outcome{}}
	for i := range answers {
		x := &answers[i]
		if x.Outcome != inquiry.Silent {
			out.answers++
		}
		if x.Outcome == inquiry.Answered && slices.ContainsFunc(answers[:i], func(b inquiry.Answer) bool { return b.ECU == x.ECU && bytes.Equal(b.Data, x.Data) }) {
			continue // the same twice
		}
		became := a.outcomeOf(x)
		switch {
		case x.Outcome == inquiry.Answered:
			if err := take(a.r.ECU(x.ECU), x.Data); err != nil {
				became = worded(err)
				a.noteError(x.ECU, item, err)
			}
		case x.Outcome == inquiry.Silent:
			became = check.Outcome{}
		case became.Unsupported() && !d.must && !d.maps.of(x.ECU, d.id): // what it claims it has
			became = check.Of(check.NotSupported)
		default:
			a.note(x.ECU, item, became)
		}
		if out.became[x.ECU].Kind == check.NotAsked || became.Kind != check.Read {
			out.became[x.ECU] = became
		}
	}
	return out, nil
}

// answersTo asks all ECUs, and once more when an ECU that is due said nothing: a reply may be
// lost or come late, and where silence stands for "none" it would pass for that.
func (a *asker) answersTo(request string, d due) ([]inquiry.Answer, error) {
	first, err := a.q.AskAll(request)
	if err != nil || !a.short(first, d) {
		return first, err
	}
	again, err := a.q.AskAll(request)
	return a.together(first, again, d), err
}

// short reports whether an ECU that is due said nothing. What came damaged may be of any, and
// was asked for again already.
func (a *asker) short(answers []inquiry.Answer, d due) bool {
	said := map[string]bool{}
	for i := range answers {
		switch x := &answers[i]; {
		case x.Outcome == inquiry.Damaged && x.ECU == "":
			return false
		case x.Outcome != inquiry.Silent:
			said[x.ECU] = true
		}
	}
	switch {
	case a.several(d):
		return true // which one is missing does not show
	case a.r.Nameless:
		return len(said) == 0
	case d.maps == nil:
		return slices.ContainsFunc(a.r.ECUs, func(e check.ECU) bool { return !e.Further() && !said[e.ID] })
	}
	for ecu := range d.maps {
		if d.maps.of(ecu, d.id) && !said[ecu] {
			return true
		}
	}
	return false
}

// several reports whether an ECU may answer in several messages, of which a part looks whole.
func (a *asker) several(d due) bool { return d.list && !a.can && !a.successor }

// together are the answers of two tries: of an ECU those of the first in which it said anything.
// Where answers are several, or ECUs have no names, it is the try that brought more, and what
// only the other one did.
func (a *asker) together(first, again []inquiry.Answer, d due) []inquiry.Answer {
	pile := a.r.Nameless || a.several(d)
	if pile && len(again) > len(first) {
		first, again = again, first
	}
	silent := func(x inquiry.Answer) bool { return x.Outcome == inquiry.Silent }
	out := slices.DeleteFunc(slices.Clone(first), silent)
	n := len(out)
	for _, x := range again {
		there := func(b inquiry.Answer) bool {
			return b.ECU == x.ECU && (!pile || b.Outcome == x.Outcome && bytes.Equal(b.Data, x.Data))
		}
		if !silent(x) && !slices.ContainsFunc(out[:n], there) {
			out = append(out, x)
		}
	}
	if len(out) == 0 {
		return first
	}
	return out
}
