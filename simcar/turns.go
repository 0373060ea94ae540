package simcar

import "time"

// turn is an ECU that will speak.
type turn struct {
	at         time.Duration
	ecu        *ECU
	functional bool
	refusal    *Refusal // nil: it answers
	waits      int      // how many times it says that the reply is pending, before it answers
}

// plan finds who will answer and when.
func (x *exchange) plan(data []byte) {
	s := x.d.sim
	on := s.ignition()
	s.mu.Lock()
	defer s.mu.Unlock()
	if !on || x.d.chip.protocol != s.bus {
		return
	}
	can := x.row.kind == busCAN
	if can && !x.d.chip.format { // the host has made the frame itself
		payload, ok := singlePayload(data)
		if !ok {
			return
		}
		data = payload
	}
	x.query.request, x.query.can = data, can
	for _, e := range s.ecus {
		heard, functional := e.hears(x.id, x.row.extended)
		if !can {
			heard, functional = e.hearsLegacy(x.id, x.row.kind)
		}
		if !heard || functional && can && x.d.chip.headerSet && s.profile.FunctionalUnheard {
			continue
		}
		delay := e.Delay + s.chance(e.Jitter)
		if x.row.slow() {
			delay = max(delay, klineP2)
		}
		t := turn{at: x.clock + delay, ecu: e, functional: functional}
		t.refuse(e.refusal(data))
		x.turns = append(x.turns, t)
	}
}

// next is the earliest of what is to come.
func (x *exchange) next() (at time.Duration, isTurn, ok bool) {
	for i, t := range x.turns {
		if !ok || t.at < at {
			at, isTurn, ok = t.at, true, true
			x.turns[0], x.turns[i] = x.turns[i], x.turns[0]
		}
	}
	if len(x.frames) > 0 && (!ok || x.frames[0].due <= at) {
		return x.frames[0].due, false, true
	}
	return at, isTurn, ok
}

// speak lets the ECU of the first turn answer and puts its frames on their way.
func (x *exchange) speak() {
	t := x.turns[0]
	x.turns = append(x.turns[:0], x.turns[1:]...)
	s := x.d.sim
	condition := s.measured(t.ecu)
	s.mu.Lock()
	defer s.mu.Unlock()
	q := &x.query
	q.condition, q.functional = &condition, t.functional
	t.ecu.sinceCleared(&condition)
	t.ecu.answer(q, t.refusal)
	if later, ok := t.again(); ok {
		x.turns = append(x.turns, later)
	}
	start := len(x.readings)
	x.readings = append(x.readings, q.readings...)
	readings := x.readings[start:]
	if x.row.kind == busCAN {
		x.queueCAN(t.ecu, readings)
		return
	}
	x.queueLegacy(t.ecu, readings)
}

// measured is the car as the ECU sees it: held for its refresh time, and frozen while a
// StaleValues fault lasts.
func (s *Sim) measured(e *ECU) Condition {
	s.mu.Lock()
	now := s.now()
	refresh := e.Refresh
	since, stale := s.faults.during(StaleValues, now)
	s.mu.Unlock()
	if stale {
		now = since
	}
	if refresh > 0 {
		now -= now % refresh
	}
	return s.car.At(now)
}
