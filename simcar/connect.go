package simcar

import (
	"time"
)

// ignition reports whether the ECUs have power.
func (s *Sim) ignition() bool {
	s.mu.Lock()
	now := s.now()
	_, off := s.faults.during(IgnitionOff, now)
	s.mu.Unlock()
	return !off && s.car.At(now).Ignition
}

// connect makes the bus ready: opens the protocol set, or searches. When it cannot it
// says so and ok is false.
func (d *dialogue) connect() (ok bool, err error) {
	c := d.chip
	switch {
	case c.open && !c.protocol.row().slow():
		return true, nil
	case c.open && d.sim.Now()-c.lastHeard < klineSleep:
		return true, nil
	case c.open && d.sim.ignition(): // the chip has kept the bus awake by itself
		return true, nil
	case c.automatic:
		return d.search()
	default:
		return d.openFixed()
	}
}

// openFixed opens the protocol set.
func (d *dialogue) openFixed() (ok bool, err error) {
	c := d.chip
	row, car := c.protocol.row(), d.sim.bus.row()
	there := d.sim.ignition()
	switch {
	case row.slow():
		d.sim.noteSent(Transmission{ID: row.header, What: BusSearch})
		d.out = append(d.out, "BUS INIT: "...)
		if row.setUp >= slowInit {
			d.out = append(d.out, "..."...)
		}
		if err := d.pauseShown(row.setUp); err != nil {
			return false, err
		}
		if !there || c.protocol != d.sim.bus {
			c.open = false
			d.say("ERROR")
			return false, nil
		}
		d.say(answerOK)
	case row.kind == busCAN && (!there || car.kind != busCAN || car.kbit != row.kbit):
		if err := d.pauseShown(c.timeout); err != nil { // nobody acknowledges the frame
			return false, err
		}
		d.say("CAN ERROR")
		return false, nil
	}
	c.open = true
	return true, nil
}

// pauseShown sends what was said, then waits.
func (d *dialogue) pauseShown(t time.Duration) error {
	if err := d.flush(); err != nil {
		return err
	}
	return d.pause(t)
}

// search tries the remembered protocol, then all in searchOrder.
func (d *dialogue) search() (ok bool, err error) {
	c := d.chip
	first := c.protocol
	d.out = append(d.out, "SEARCHING..."...)
	for i := -1; i < len(searchOrder); i++ {
		p := first
		if i >= 0 {
			p = searchOrder[i]
		}
		if p == Automatic || i >= 0 && p == first || c.blocked && p.row().kind == busCAN {
			continue
		}
		d.sim.noteSent(Transmission{ID: p.row().header, What: BusSearch})
		if p != d.sim.bus || !d.sim.answersSearch() {
			if err := d.pauseShown(p.row().giveUp); err != nil {
				return false, err
			}
			continue
		}
		if err := d.pauseShown(p.row().setUp + d.sim.slowestECU()); err != nil {
			return false, err
		}
		c.protocol, c.open = p, true
		if c.memory {
			c.saved, c.savedAuto = p, true
		}
		d.eol()
		return true, nil
	}
	d.eol()
	d.say("UNABLE TO CONNECT")
	return false, nil
}

// answersSearch reports whether 01 00 is answered: not by a car of SAE J1979-2.
func (s *Sim) answersSearch() bool {
	if !s.ignition() {
		return false
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, e := range s.ecus {
		if !e.OBDonUDS {
			return true
		}
	}
	return false
}

// slowestECU is the longest that an ECU may take to answer.
func (s *Sim) slowestECU() time.Duration {
	s.mu.Lock()
	defer s.mu.Unlock()
	var t time.Duration
	for _, e := range s.ecus {
		t = max(t, e.Delay+e.Jitter)
	}
	return t
}
