package reply

import (
	"bytes"
	"slices"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
)

// Decoded is what one exchange brought.
type Decoded struct {
	Messages []Message     // whole replies to what was asked, in order of arrival
	Samples  []pids.Sample // the readings in them
	Outcome  Outcome
	Code     byte // of the refusal, where that is the outcome (ISO 14229-1)

	Lines      int      // all lines of the exchange
	Damaged    int      // lines dropped because they are not whole
	Nameless   int      // of those, lines that do not show whose they are
	Misfits    int      // whole replies that hold something else than they claim
	Unasked    int      // whole replies to nothing that was asked
	Unfinished bool     // a reply that came since the request is not whole yet
	PartsOnly  []string // ECUs of which something came since the request, and nothing whole
}

// Outcome is what became of a request as a whole. A late reply to another request does not count.
type Outcome uint8

// The outcomes. Where ECUs reply differently, the later in this order is that of the request.
const (
	OutcomeNotAsked Outcome = iota // nothing was asked of the car
	OutcomeSilent                  // nothing came for it
	OutcomeDamaged                 // something came, and no reply that is whole
	OutcomeRefused                 // refused, with a code
	OutcomeWaits                   // an ECU asks to wait: its answer comes later (7F xx 78)
	OutcomeAnswered                // answered
	OutcomeMixed                   // answered in several ways by ECUs that the adapter does not name: no readings
)

// Answered reports whether the request itself was answered, by a reply that is no refusal.
func (d *Decoded) Answered() bool { return d.Outcome >= OutcomeAnswered }

// AnyBare reports whether a reply came without the header it should have: the adapter has lost
// its settings and did not report it.
func (d *Decoded) AnyBare() bool {
	return slices.ContainsFunc(d.Messages, func(m Message) bool { return m.Bare })
}

// AnyWaits reports whether an ECU asks to wait, also one that answers an earlier request.
func (d *Decoded) AnyWaits() bool { return slices.ContainsFunc(d.Messages, Message.Waits) }

// ResponsePending is the negative code that says: received, the answer comes later
// (ISO 14229-1). The request must not be sent again meanwhile.
const ResponsePending = 0x78

// WholeLines is how many lines there were if each was one whole message and none a refusal;
// else 0.
func (d *Decoded) WholeLines() int {
	if len(d.Messages) != d.Lines {
		return 0
	}
	for _, m := range d.Messages {
		if _, refused := m.Negative(); refused {
			return 0
		}
	}
	return d.Lines
}

// conclude finds the outcome of a request, asked of the car or not. In a form without headers,
// nobody knows whose a reply is.
func (d *Decoded) conclude(asked bool, form obd.Form) {
	d.Outcome, d.Code = OutcomeNotAsked, 0
	if !asked {
		return
	}
	d.Outcome = OutcomeSilent
	if d.Damaged > 0 || d.Unfinished {
		d.Outcome = OutcomeDamaged
	}
	var first []byte
	for i, m := range d.Messages {
		if m.Late {
			continue
		}
		code, refused := m.Negative()
		found := OutcomeRefused
		switch {
		case !refused && form == obd.FormBare && first != nil && !bytes.Equal(first, m.Data):
			found = OutcomeMixed
		case !refused:
			first, found = m.Data, OutcomeAnswered
		case m.Waits() && d.repliesLater(i):
			continue
		case m.Waits():
			found = OutcomeWaits
		}
		if found > d.Outcome {
			d.Outcome, d.Code = found, code
		}
	}
	if d.Outcome != OutcomeRefused {
		d.Code = 0
	}
}

// repliesLater reports whether an ECU that asks to wait replies after that in the same exchange.
func (d *Decoded) repliesLater(wait int) bool {
	for _, m := range d.Messages[wait+1:] {
		if !m.Late && !m.Waits() && m.ECU == d.Messages[wait].ECU {
			return true
		}
	}
	return false
}
