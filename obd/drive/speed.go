package drive

import (
	"judder/obd"
	"judder/obd/reply"
	"strings"
	"time"
)

// A serial line at the adapter's delivered speed costs more than the car: thirty characters
// an exchange are 8 ms at 38400 baud. The adapter family can be told another speed for as
// long as it has power (AT BRD, ELM327 data sheet p. 51); nothing is written to its memory,
// and an adapter that is not answered at the new speed falls back by itself.

// faster are the speeds tried, with the divisor of 4 Mbit/s that AT BRD takes.
var faster = []struct {
	baud    int
	command string
}{{500000, "ATBRD08"}, {230400, "ATBRD11"}, {115200, "ATBRD23"}}

// setsBaud is a link whose speed can be changed while it is open.
type setsBaud interface{ SetBaud(baud int) error }

const (
	raiseOK    = 300 * time.Millisecond // for the OK at the old speed
	raiseText  = 250 * time.Millisecond // the adapter waits 75 ms before its text (data sheet)
	raiseBack  = 200 * time.Millisecond // after which the adapter is back at the old speed
	raiseProof = 3                      // version texts that must come whole at the new speed

	slowest     = 38400                 // the family's delivered speed; a faster one may be of an earlier session
	lowerLeaves = 60 * time.Millisecond // for the command to leave, and the adapter to stop asking
)

// raise changes to the highest speed that adapter, cable and port prove to carry. What did
// not work is not tried again in this session.
func (p *Poller) raise() error {
	port, ok := p.term.link.(setsBaud)
	if !ok || p.baud == 0 || p.can.Baud > p.baud {
		return nil
	}
	for _, f := range faster {
		if f.baud <= p.baud || p.noFaster[f.baud] {
			continue
		}
		known, err := p.raiseTo(port, f.command, f.baud)
		if err != nil || p.can.Baud == f.baud {
			return err
		}
		p.noFaster[f.baud] = true
		if !known {
			return nil // this adapter does not know the command at any speed
		}
	}
	return nil
}

// raiseTo tries one speed. known is false when the adapter refuses the command itself.
func (p *Poller) raiseTo(port setsBaud, command string, baud int) (known bool, err error) {
	x, raised, err := p.term.handshake(port, command, baud, p.can.Adapter)
	p.sink.Exchange(x)
	if err != nil || reply.Worst(&x) == reply.ActRefused {
		return false, err
	}
	if !raised {
		here, err := p.fallBack(port)
		if err != nil || here {
			return true, err
		}
		// Not where it was: some copies go to the other speed without a word.
		if err := port.SetBaud(baud); err != nil {
			return true, err
		}
	}
	for range raiseProof {
		here, err := p.isHere()
		if err != nil {
			return true, err
		}
		if !here {
			_, err := p.fallBack(port)
			return true, err
		}
	}
	p.can.Baud, p.raised = baud, baud
	return true, nil
}

// fallBack goes back to the speed that worked; here is false when the adapter is not there.
func (p *Poller) fallBack(port setsBaud) (here bool, err error) {
	if err := port.SetBaud(p.baud); err != nil {
		return false, err
	}
	p.rest(raiseBack)
	return p.isHere()
}

// isHere tells whether the adapter answers by its name at the speed that is set.
func (p *Poller) isHere() (bool, error) {
	p.term.inStep = false
	for range 2 { // the first takes the junk of the other speed away
		x, _, err := p.do("ATI", waitIdentify)
		if err != nil {
			return false, err
		}
		if x.Ending == obd.EndPrompt && versionText(&x) == p.can.Adapter {
			return true, nil
		}
	}
	return false, nil
}

// lower gives an adapter that is left its delivered speed back (AT Z restores it, AT WS does
// not: ELM327 data sheet), so that the next program finds it. It is sent twice, because an
// adapter that is still asking the car takes the first letter for "stop"; one that obeyed the
// first no longer hears the second.
func (p *Poller) lower() {
	if _, ok := p.term.link.(setsBaud); !ok || p.can.Baud <= slowest {
		return
	}
	for range 2 {
		if p.term.send("ATZ") != nil {
			return // it is gone, and its speed with it or not
		}
		for end := p.term.now() + lowerLeaves; p.term.now() < end; p.term.pending = p.term.pending[:0] {
			if p.term.read(end-p.term.now()) != nil {
				return
			}
		}
	}
}

// fellBack looks for a silent adapter at the speed that it was delivered with: after a dip of
// its supply it no longer knows of another. One that is found there is errSetUp.
func (p *Poller) fellBack() error {
	port, ok := p.term.link.(setsBaud)
	if !ok || p.can.Baud <= p.baud {
		return nil
	}
	if err := port.SetBaud(p.baud); err != nil {
		return err
	}
	here, err := p.isHere()
	if err != nil {
		return err
	}
	if here {
		p.can.Baud = p.baud
		return errSetUp
	}
	return port.SetBaud(p.can.Baud)
}

// handshake tells the adapter another speed and follows it there: OK at the old speed, no
// prompt; the version text at the new one; a carriage return from here within 75 ms; OK and
// a prompt. raised is false when it did not go so; the port's speed is then either.
func (t *terminal) handshake(port setsBaud, command string, baud int, version string) (x obd.Exchange, raised bool, err error) {
	x = obd.Exchange{Request: command, Ending: obd.EndSilence}
	defer func() { x.Done, t.inStep = t.now(), raised }()
	if err := t.send(command); err != nil {
		x.Sent, x.Ending = t.now(), obd.EndLost
		return x, false, err
	}
	x.Sent = t.now()
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
	greeted := func() bool { return last(version) || strings.TrimSpace(string(t.line)) == version }
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
func (t *terminal) hear(x *obd.Exchange, d time.Duration, enough func() bool) (prompt bool, err error) {
	for end := t.now() + d; ; {
		if prompt, _ = t.scan(x); prompt || enough() || t.now() >= end || t.over() {
			return prompt, nil
		}
		if err := t.read(min(end-t.now(), readSlice)); err != nil {
			x.Ending = obd.EndLost
			return false, err
		}
	}
}
