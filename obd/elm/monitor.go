package elm

import (
	"bytes"
	"io"
	"strings"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
)

// Listening to the bus sends nothing to the car: only while the protocol is fixed, and proved by a
// reply. With an automatic protocol a quiet bus would have the adapter search, which transmits.
// Formatting stays on: Permit never lets CAF0 pass.

// MonitorRequest is the request of an exchange in which the adapter listens to the bus.
const MonitorRequest = "ATMA"

// stopWithin is how long an adapter may take to stop listening before it counts as busy.
const stopWithin = 1500 * time.Millisecond

// fixed knows whether the protocol is fixed, and whether the car has answered on it. An adapter that
// begins to echo has started again without a word, and its protocol is automatic again.
type fixed struct{ protocol, proved, echoes bool }

// unfixing are commands after which the adapter may search again, by their beginnings.
var unfixing = []string{"ATZ", "ATWS", "ATD", "ATTP", "ATPC"}

// note takes in an exchange that is over, and whether the adapter echoed its command.
func (f *fixed) note(x *obd.Exchange, echoed bool) {
	worst, ended := reply.Worst(x), x.Ending == obd.EndPrompt
	switch {
	case f.protocol && echoed && !f.echoes:
		*f = fixed{}
	case worst == reply.ActSetUp || x.Ending == obd.EndLost:
		*f = fixed{}
	case fits(x.Request, "ATTP#") && x.Request != "ATTP0":
		*f = fixed{protocol: ended && worst == reply.ActNothing && reply.Says(x, "OK"), echoes: echoed}
	case x.Request == "ATDPN" || x.Request == "ATDP":
		if automatic(x) {
			*f = fixed{} // it says OK to AT TP and goes on searching
		}
	case fits(x.Request, "ATD#"): // no kin of AT D
	case hasAnyPrefix(x.Request, unfixing):
		*f = fixed{}
	case !strings.HasPrefix(x.Request, "AT"):
		f.proved = f.protocol && (f.proved || ended && worst == reply.ActNothing && fromCar(x))
	}
}

// automatic reports whether an adapter names its protocol as one that it may leave: "A6" (AT DPN),
// "AUTO, ISO 15765-4 (CAN 11/500)" (AT DP).
func automatic(x *obd.Exchange) bool {
	for i := range x.Lines {
		if x.Lines[i].At >= x.Sent && strings.HasPrefix(strings.TrimSpace(x.Lines[i].Text), "A") {
			return true
		}
	}
	return false
}

func hasAnyPrefix(text string, prefixes []string) bool {
	for _, p := range prefixes {
		if strings.HasPrefix(text, p) {
			return true
		}
	}
	return false
}

// fromCar reports whether a line of a reply came from the car.
func fromCar(x *obd.Exchange) bool {
	for i := range x.Lines {
		if x.Lines[i].At >= x.Sent && reply.FromCar(strings.TrimSpace(x.Lines[i].Text)) {
			return true
		}
	}
	return false
}

// mayMonitor is why listening to the bus may not begin; nil when it may.
func (f *fixed) mayMonitor() error {
	switch {
	case !f.protocol:
		return &RefusedError{MonitorRequest, "the protocol is not fixed, and the adapter would search"}
	case !f.proved:
		return &RefusedError{MonitorRequest, "the car has not answered on the fixed protocol"}
	}
	return nil
}

// monitor has the adapter listen.
func monitor(w io.Writer, lead string) error {
	_, err := w.Write([]byte(lead + MonitorRequest + "\r"))
	return err
}

// halt stops an adapter that listens: any character does, and it is thrown away. One that has
// stopped by itself meanwhile ignores a space.
func halt(w io.Writer) error {
	_, err := w.Write([]byte{' '})
	return err
}

// Monitored is a time of listening: the exchange holds the frames as lines, and what else the adapter
// says.
type Monitored struct {
	obd.Exchange
	Stopped time.Duration // when it was told to stop; 0 where it ended by itself
}

// Listened is for how long frames could come.
func (m *Monitored) Listened() time.Duration {
	if m.Stopped > 0 {
		return m.Stopped - m.Sent
	}
	return m.Done - m.Sent
}

// Monitor has the adapter listen to the bus for d, then stops it and waits for its prompt: nothing
// else is sent meanwhile. The Ending is EndSilence where no prompt came. The error is the link's, or
// ErrOver, or a *RefusedError where listening might transmit.
func (t *Terminal) Monitor(d time.Duration) (m Monitored, err error) {
	m = Monitored{Exchange: obd.Exchange{Request: MonitorRequest, Ending: obd.EndLost}}
	if err := t.fixed.mayMonitor(); err != nil {
		return m, err
	}
	if t.guard.busy {
		return m, &RefusedError{MonitorRequest, "the adapter may be busy with a request to the car"}
	}
	if !t.inStep {
		err := t.settle()
		m.Lines, t.stray = t.stray, nil
		if err != nil {
			return m, err
		}
	}
	t.pace()
	if err := t.send(func() error { return monitor(t.link, t.guard.lead(MonitorRequest)) }); err != nil {
		m.Sent = t.clock.Now()
		return m, err
	}
	m.Sent, t.inStep, t.in.echoed = t.clock.Now(), false, false
	defer func() {
		m.Done, t.guard.busy, t.guard.quiet = t.clock.Now(), !t.inStep, false
		t.guard.heard = false // the space that stops it may be left over
		t.fixed.note(&m.Exchange, t.in.echoed)
	}()
	ended, err := t.listenFor(&m.Exchange, d, false)
	if err != nil || ended {
		return m, err
	}
	m.Stopped = t.clock.Now()
	if err := t.send(func() error { return halt(t.link) }); err != nil {
		return m, err
	}
	if ended, err = t.listenFor(&m.Exchange, stopWithin, true); err == nil && !ended {
		m.Ending = obd.EndSilence
	}
	if err == nil && t.clock.Over() {
		err = ErrOver
	}
	return m, err
}

// listenFor gathers lines for d, or until a prompt; stopping takes one with nothing before it too,
// and outlasts the end of the session.
func (t *Terminal) listenFor(x *obd.Exchange, d time.Duration, stopping bool) (prompt bool, err error) {
	for end := t.clock.Now() + d; ; {
		for len(t.in.pending) > 0 {
			bare := stopping && bytes.IndexByte(t.in.pending, '>') >= 0
			if prompt, _ = t.in.scan(x); prompt || bare {
				x.Ending, t.inStep = obd.EndPrompt, true
				return true, nil
			}
		}
		now := t.clock.Now()
		if now >= end || !stopping && t.clock.Over() {
			return false, nil
		}
		if err := t.read(min(end-now, readSlice)); err != nil {
			x.Ending = obd.EndLost
			return false, err
		}
	}
}
