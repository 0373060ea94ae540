package inquiry

import (
	"slices"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/prose"
)

// Outcome is what became of a question to one ECU.
type Outcome uint8

// The outcomes.
const (
	Answered    Outcome = iota
	Silent              // nobody answered
	Declined            // refused, with a code of ISO 14229-1
	Damaged             // something came, and not whole
	Pending             // it asked to wait, until the waiting was given up
	Misdirected         // another ECU answered: the adapter does not ask the one that it should
)

var outcomeWords = [...]string{Answered: "answered", Silent: "silent", Declined: "refused", Damaged: "damaged", Pending: "still pending", Misdirected: "answered by another control unit"}

// String is the outcome in words.
func (o Outcome) String() string { return outcomeWords[o] }

// Answer is what one ECU made of a question.
type Answer struct {
	ECU     string // reply header; "" when nobody or nobody known answered
	Outcome Outcome
	Code    byte     // of a refusal
	Data    []byte   // service first, when answered
	Raw     []string // the lines as they came; control characters replaced
}

// answerOf is a reply as an answer.
func answerOf(m *reply.Message, raw []string) Answer {
	code, refused := m.Negative()
	switch {
	case refused && code == reply.ResponsePending:
		return Answer{ECU: m.ECU, Outcome: Pending, Code: code, Raw: raw}
	case refused:
		return Answer{ECU: m.ECU, Outcome: Declined, Code: code, Raw: raw}
	}
	return Answer{ECU: m.ECU, Data: append([]byte(nil), m.Data...), Raw: raw}
}

// merge adds an answer; one that says "wait" gives way to the one of the same ECU that
// follows it. several ECUs without names may be any.
func merge(out []Answer, a Answer, several bool) []Answer {
	for i := range out {
		if out[i].ECU == a.ECU && out[i].Outcome == Pending && (a.ECU != "" || !several) {
			out[i] = a
			return out
		}
	}
	return append(out, a)
}

func rawLines(x *obd.Exchange) []string {
	out := make([]string, 0, len(x.Lines))
	for _, l := range x.Lines {
		out = append(out, prose.Clean(l.Text))
	}
	return out
}

// isBusy reports whether an ECU was busy and wants to be asked again (ISO 14229-1: 21).
func isBusy(a Answer) bool { return a.Outcome == Declined && a.Code == busyRepeat }

// worth orders what an ECU may answer to the same question: an answer, a refusal, "later".
func worth(a *Answer) int {
	switch {
	case a.Outcome == Answered:
		return 2
	case a.Outcome == Declined && !isBusy(*a):
		return 1
	}
	return 0
}

func anyOf(answers []Answer, o Outcome) bool {
	return slices.ContainsFunc(answers, func(a Answer) bool { return a.Outcome == o })
}
