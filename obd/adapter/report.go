package adapter

import (
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/prose"
)

// reporter passes on what changes of the link.
type reporter struct {
	name    string // the port in words
	now     func() time.Duration
	sink    Sink
	state   obd.LinkState
	text    string
	reached bool // this life of the link has reached an adapter
}

// Report passes a change of the link on; the same once only.
func (r *reporter) Report(state obd.LinkState, cause obd.Cause, text string) {
	if state == r.state && text == r.text {
		return
	}
	r.state, r.text, r.reached = state, text, r.reached || state >= obd.LinkAdapter
	r.sink.Link(obd.LinkChange{At: r.now(), State: state, Cause: cause, Text: prose.Clean(text)})
}

// ReportLost reports that the link was lost with an error.
func (r *reporter) ReportLost(err error) {
	r.Report(obd.LinkClosed, lostCause(err), lostText(r.name, err))
}

// SetUpAgain reports why the adapter must be set up again, and is ErrSetUp.
func (r *reporter) SetUpAgain(cause obd.Cause, text string) error {
	r.Report(obd.LinkOpening, cause, text)
	return ErrSetUp
}

// Begin begins a life of the link: it has reached nothing yet.
func (r *reporter) Begin() { r.reached = false }

// Reached reports whether this life of the link has reached an adapter.
func (r *reporter) Reached() bool { return r.reached }

// ForgotSettings is SetUpAgain for an exchange that shows that the adapter started again, or that
// it lost its settings without a word.
func (r *reporter) ForgotSettings(x *obd.Exchange) error {
	if why := reply.Why(x, reply.ActSetUp); why != "" {
		return r.SetUpAgain(obd.CauseRestarted, "the adapter started again"+why+"; setting it up")
	}
	return r.SetUpAgain(obd.CauseForgot, "the adapter has lost its settings without a word; setting it up again")
}
