package adapter

import (
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
)

// A serial line at the adapter's delivered speed costs more than the car: thirty characters
// an exchange are 8 ms at 38400 baud. The adapter family can be given another speed for as
// long as it has power (AT BRD, ELM327 data sheet p. 51); nothing is written to its memory,
// and an adapter that is not answered at the new speed falls back by itself.

// faster are the speeds tried, with the divisor of 4 Mbit/s that AT BRD takes.
var faster = []struct {
	baud    int
	command string
}{{500000, "ATBRD08"}, {230400, "ATBRD11"}, {115200, "ATBRD23"}}

const (
	raiseBack  = 200 * time.Millisecond // after which the adapter is back at the old speed
	raiseProof = 3                      // version texts that must come whole at the new speed
	slowest    = 38400                  // the family's delivered speed; a faster one may be of an earlier session
)

// Speed is the serial speed of the adapter.
type Speed struct {
	line   *line
	found  int          // at which it answered last; 0 before
	raised int          // that was proved above it; 0: none
	failed map[int]bool // speeds that did not work; not tried again in this session
}

// foundAt notes the speed at which the adapter answered.
func (s *Speed) foundAt(baud int) {
	if baud != s.raised || s.found == 0 {
		s.found, s.raised = baud, 0
	}
}

// Tried reports whether a higher speed was tried in vain.
func (s *Speed) Tried() bool { return len(s.failed) > 0 }

// Found is the speed at which the adapter was found; 0 on a network.
func (s *Speed) Found() int { return s.found }

// raise changes to the highest speed that adapter, cable and port prove to carry.
func (s *Speed) raise() error {
	port, ok := s.line.term.Port()
	if !ok || s.found == 0 || s.line.can.Baud > s.found {
		return nil
	}
	for _, f := range faster {
		if f.baud <= s.found || s.failed[f.baud] {
			continue
		}
		known, err := s.raiseTo(port, f.command, f.baud)
		if err != nil || s.line.can.Baud == f.baud {
			return err
		}
		s.failed[f.baud] = true
		if !known {
			return nil // this adapter does not know the command at any speed
		}
	}
	return nil
}

// raiseTo tries one speed. known is false when the adapter refuses the command itself.
func (s *Speed) raiseTo(port elm.SetsBaud, command string, baud int) (known bool, err error) {
	if _, err := s.line.free(command); err != nil {
		return false, err
	}
	x, raised, err := s.line.term.Raise(port, command, baud, s.line.can.Adapter)
	s.line.take(&x)
	if err != nil || reply.Worst(&x) == reply.ActRefused {
		return false, err
	}
	if !raised {
		here, err := s.fallBack(port)
		if err != nil || here {
			return true, err
		}
		// Not where it was: some copies go to the other speed without a word.
		if err := port.SetBaud(baud); err != nil {
			return true, err
		}
	}
	for range raiseProof {
		here, err := s.isHere()
		if err != nil {
			return true, err
		}
		if !here {
			_, err := s.fallBack(port)
			return true, err
		}
	}
	s.line.can.Baud, s.raised = baud, baud
	return true, nil
}

// fallBack goes back to the speed that worked; here is false when the adapter is not there.
func (s *Speed) fallBack(port elm.SetsBaud) (here bool, err error) {
	if err := port.SetBaud(s.found); err != nil {
		return false, err
	}
	s.line.Rest(raiseBack)
	return s.isHere()
}

// isHere reports whether the adapter answers by its name at the speed that is set.
func (s *Speed) isHere() (bool, error) {
	s.line.Doubt()
	for range 2 { // the first takes the junk of the other speed away
		x, _, err := s.line.Do("ATI", elm.WaitIdentify)
		if err != nil {
			return false, err
		}
		if x.Ending == obd.EndPrompt && versionText(&x) == s.line.can.Adapter {
			return true, nil
		}
	}
	return false, nil
}

// lower gives an adapter that is left its delivered speed back, so that the next program finds it.
func (s *Speed) lower() {
	if _, ok := s.line.term.Port(); ok && s.line.can.Baud > slowest {
		s.line.term.Restart()
	}
}

// fellBack looks for a silent adapter at the speed at which it was delivered: after a dip of
// its supply it no longer knows of another. One that is found there is ErrSetUp.
func (s *Speed) fellBack() error {
	port, ok := s.line.term.Port()
	if !ok || s.line.can.Baud <= s.found {
		return nil
	}
	if err := port.SetBaud(s.found); err != nil {
		return err
	}
	here, err := s.isHere()
	if err != nil {
		return err
	}
	if here {
		s.line.can.Baud = s.found
		return ErrSetUp
	}
	return port.SetBaud(s.line.can.Baud)
}
