package inquiry

import (
	"time"

	"github.com/judder-obd/judder/obd"
)

// patience is how long each ECU is waited for, by its reply address.
type patience struct {
	pace    map[string]pace
	endless map[string]bool // it asked to wait until the waiting was given up
	took    time.Duration   // from the last request to its reply; 0 without one
}

// pace is how soon an ECU that is asked alone answers.
type pace uint8

const (
	paceUnknown pace = iota
	paceSoon         // within soonWithin, whenever it was asked
	paceUsual        // not always
)

// soonWithin is how long a reply takes at most that comes soon: 50 ms (ISO 14229-2), with as much
// again for gateway and adapter.
const soonWithin = 100 * time.Millisecond

func newPatience() patience {
	return patience{pace: map[string]pace{}, endless: map[string]bool{}}
}

// note takes in an exchange.
func (p *patience) note(x *obd.Exchange) {
	if p.took = 0; len(x.Lines) > 0 {
		p.took = x.Lines[len(x.Lines)-1].At - x.Sent
	}
}

// soon reports whether an ECU always answered soon.
func (p *patience) soon(ecu string) bool { return p.pace[ecu] == paceSoon }

// learn keeps from its first answer whether an ECU answers soon.
func (p *patience) learn(ecu string) {
	if p.pace[ecu] != paceUnknown {
		return
	}
	p.pace[ecu] = paceUsual
	if p.took > 0 && p.took <= soonWithin {
		p.pace[ecu] = paceSoon
	}
}

// worthWaiting reports whether an ECU asks to wait and may still answer in time. An ECU that asked
// until the waiting was given up is remembered, and not waited for again.
func (p *patience) worthWaiting(answers []Answer, early bool) bool {
	waits := false
	for i := range answers {
		if a := &answers[i]; a.Outcome == Pending && !p.endless[a.ECU] {
			waits = true
			if !early {
				p.endless[a.ECU] = true
			}
		}
	}
	return waits && early
}
