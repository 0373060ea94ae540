package adapter

import (
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
)

// basics are sent after a reset, in this order (common practice, no source). The adapter
// may refuse any of them: the parser takes an echo, spaces, line feeds and bare replies.
var basics = []string{
	"ATD0",   // no length in front of the data; first, as some take it for AT D, which undoes the rest
	"ATCAF1", // replies taken apart at their control bytes
	"ATE0",   // no echo
	"ATL0",   // no line feeds
	"ATS0",   // no spaces: a third of the characters saved
	"ATH1",   // headers, so that each reply names its ECU
	"ATM0",   // do not keep the protocol in memory
	"ATTP0",  // look for the protocol, without keeping it
}

// balksMost is how often in a row an adapter may refuse what it took before.
const balksMost = 5

// settings are the adapter's, as far as it took or refused them.
type settings struct {
	*line
	refused map[string]bool // commands answered with "?" since the adapter was set up
	took    map[string]bool // commands that this adapter has said OK to
	balks   map[string]int  // set-ups in a row in which it refused what it took before
}

// set sends settings: each once more when it is refused (there may have been junk before it) or
// not answered, and not again after that.
func (s *settings) set(commands ...string) error {
	for _, c := range commands {
		if err := s.one(c); err != nil {
			return err
		}
	}
	return nil
}

func (s *settings) one(command string) error {
	refused := false
	for range 2 {
		if s.refused[command] {
			return nil
		}
		x, _, err := s.Do(command, elm.WaitSetting)
		switch {
		case err != nil:
			return err
		case reply.Worst(&x) == reply.ActRefused:
			refused = true
		case x.Ending == obd.EndPrompt:
			return nil
		}
	}
	s.refused[command] = refused
	return nil
}

// balked reports whether the adapter refuses what it took before: it is not itself yet. One that
// goes on refusing has changed its mind.
func (s *settings) balked(command string) bool {
	switch {
	case !s.refused[command]:
		s.took[command], s.balks[command] = true, 0
		return false
	case !s.took[command]:
		return false
	}
	if s.balks[command]++; s.balks[command] == balksMost {
		delete(s.took, command)
	}
	return true
}

// apply sends settings. An adapter that refuses what it took before is ErrSetUp.
func (s *settings) apply(commands ...string) error {
	for _, command := range commands {
		if err := s.set(command); err != nil {
			return err
		}
		if s.balked(command) {
			s.Report(obd.LinkOpening, obd.CauseRefuses, "the adapter refuses what it took before; setting it up again")
			s.Rest(pauseLost)
			return ErrSetUp
		}
	}
	return nil
}

// Pauses.
const (
	pauseLost = 500 * time.Millisecond // before an adapter that is not itself is tried again
	pauseCar  = time.Second            // before asking again for a car that is silent
)
