package elm

import (
	"io"
	"strings"
	"time"

	"github.com/judder-obd/judder/obd"
)

// SetsBaud is a link whose speed can be changed while it is open.
type SetsBaud interface{ SetBaud(baud int) error }

const (
	raiseOK     = 300 * time.Millisecond // for the OK at the old speed
	raiseText   = 250 * time.Millisecond // the adapter waits 75 ms before its text (data sheet)
	leaveWithin = 60 * time.Millisecond  // for the command to leave, and the adapter to stop asking
)

// Port is the link as one whose speed can be set; ok is false on a network.
func (t *Terminal) Port() (port SetsBaud, ok bool) {
	port, ok = t.link.(SetsBaud)
	return port, ok
}

// Raise sets another speed at the adapter and follows it there: OK at the old speed, no prompt;
// the version text at the new one; a carriage return from here within 75 ms; OK and a prompt
// (AT BRD, ELM327 data sheet p. 51). raised is false when it did not go so; the port's speed is
// then either.
func (t *Terminal) Raise(port SetsBaud, command string, baud int, version string) (x obd.Exchange, raised bool, err error) {
	x = obd.Exchange{Request: command, Ending: obd.EndSilence}
	defer func() { x.Done, t.inStep, t.guard.quiet = t.clock.Now(), raised, false }()
	if err := t.send(func() error { return transmit(t.link, &t.guard, command, t.scratch[:]) }); err != nil {
		x.Sent, x.Ending = t.clock.Now(), obd.EndLost
		return x, false, err
	}
	x.Sent = t.clock.Now()
	last := func(text string) bool {
		n := len(x.Lines)
		return n > 0 && strings.TrimSpace(x.Lines[n-1].Text) == text
	}
	prompt, err := t.hear(&x, raiseOK, func() bool { return last("OK") })
	if err != nil || prompt || !last("OK") {
		return x, false, err
	}
	if err := port.SetBaud(baud); err != nil {
		return x, false, nil // a port that cannot: the adapter falls back
	}
	greeted := func() bool { return last(version) || strings.TrimSpace(string(t.in.line)) == version }
	if _, err = t.hear(&x, raiseText, greeted); err != nil || !greeted() {
		return x, false, err
	}
	if err := confirm(t.link); err != nil {
		return x, false, err
	}
	prompt, err = t.hear(&x, raiseOK, func() bool { return false })
	if prompt && last("OK") {
		x.Ending = obd.EndPrompt
		return x, true, err
	}
	return x, false, err
}

// hear gathers lines until a prompt, until enough says so, or for d.
func (t *Terminal) hear(x *obd.Exchange, d time.Duration, enough func() bool) (prompt bool, err error) {
	for end := t.clock.Now() + d; ; {
		if prompt, _ = t.in.scan(x); prompt || enough() || t.clock.Now() >= end || t.clock.Over() {
			return prompt, nil
		}
		if err := t.read(min(end-t.clock.Now(), readSlice)); err != nil {
			x.Ending = obd.EndLost
			return false, err
		}
	}
}

// Restart gives an adapter that is left its delivered speed back (AT Z restores it, AT WS does
// not: ELM327 data sheet), so that the next program finds it. It is sent twice, because an
// adapter that is still asking the car takes the first letter for "stop"; one that obeyed the
// first no longer hears the second.
func (t *Terminal) Restart() {
	for range 2 {
		if t.send(func() error { return transmit(t.link, &t.guard, "ATZ", t.scratch[:]) }) != nil {
			return // it is gone, and its speed with it or not
		}
		for end := t.clock.Now() + leaveWithin; t.clock.Now() < end; t.in.pending = nil {
			if t.read(end-t.clock.Now()) != nil {
				return
			}
		}
	}
}

// confirm confirms to an adapter that its text came well at a new serial speed: a bare carriage
// return, as its handshake wants it (ELM327 data sheet p. 51). It is the one place where an
// adapter takes one for that and for nothing else.
func confirm(w io.Writer) error {
	_, err := w.Write([]byte{'\r'})
	return err
}
