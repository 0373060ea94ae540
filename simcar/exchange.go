package simcar

import "time"

// exchange is one request on the bus: the ECUs whose turn is still to come and the
// frames on their way, worked off in the order of their times. Its clock is drive time
// as it would be without the delays of this machine, so that an Instant Sim takes the
// same decisions.
type exchange struct {
	d     *dialogue
	row   *protocolRow
	id    uint32 // CAN id, or the three header bytes
	query query

	turns    []turn
	frames   []frame
	unasked  heardFrames
	readings []Reading // those of all frames, each frame knows its part

	clock, deadline time.Duration
	before          time.Duration // when the last reply, or the request, was complete
	shown           int           // frames
	messages        int
	full            bool // BUFFER FULL
}

// run puts the request on the bus and shows what comes back.
func (x *exchange) run(d *dialogue, data []byte, limit int) error {
	x.begin(d)
	if err := x.send(data); err != nil {
		return err
	}
	x.plan(data)
	x.deadline = x.clock + x.patience()
	for !x.enough(limit) {
		next, isTurn, ok := x.next()
		until := x.deadline
		if ok {
			until = min(until, next)
		}
		if shown, err := x.showUnasked(until); err != nil {
			return err
		} else if shown {
			continue
		}
		if !ok || next > x.deadline {
			if err := x.waitUntil(x.deadline); err != nil {
				return err
			}
			break
		}
		if err := x.waitUntil(next); err != nil {
			return err
		}
		if isTurn {
			x.speak()
			continue
		}
		if err := x.show(); err != nil {
			return err
		}
	}
	if x.shown == 0 && !x.full {
		d.chip.learned *= 2
		d.say("NO DATA")
	}
	return nil
}

func (x *exchange) begin(d *dialogue) {
	now := d.sim.Now()
	*x = exchange{
		d: d, row: d.chip.protocol.row(), clock: now,
		query: x.query, unasked: d.frames(now), turns: x.turns[:0], frames: x.frames[:0], readings: x.readings[:0],
	}
}

// patience is how long the chip waits for another frame.
func (x *exchange) patience() time.Duration {
	if x.d.sim.profile.AdaptiveIgnored {
		return x.d.chip.timeout
	}
	return x.d.chip.wait()
}

// enough reports whether the response count is reached or nothing more can be taken.
func (x *exchange) enough(limit int) bool {
	count := x.messages
	if x.d.sim.profile.Digit == DigitCountsFrames {
		count = x.shown
	}
	return x.full || limit > 0 && count >= limit
}

// waitUntil moves the clock on, and waits for the world to follow.
func (x *exchange) waitUntil(t time.Duration) error {
	for x.d.lateIsDue(t) { // a late reply to an earlier request may fall into this one
		if err := x.d.pause(x.d.late[0].at - x.d.sim.Now()); err != nil {
			return err
		}
		if err := x.d.sendLate(); err != nil {
			return err
		}
	}
	x.clock = max(x.clock, t)
	if x.d.sim.instant {
		return x.d.pause(0)
	}
	return x.d.pause(t - x.d.sim.Now())
}

// send takes the time that the request needs on the bus.
func (x *exchange) send(data []byte) error {
	x.id = x.row.header
	if x.d.chip.headerSet {
		x.id = x.d.chip.header
	}
	t := x.clock
	switch x.row.kind {
	case busCAN:
		x.id = x.d.chip.requestID(x.row)
		t += x.row.frameTime()
	case bus9141, busKWP:
		t = max(t, x.d.chip.busFree)
		n := time.Duration(len(data) + klineOverhead)
		t += n*x.row.byteTime + (n-1)*klineP4
	default:
		t += time.Duration(len(data)+klineOverhead) * x.row.byteTime
	}
	x.before = t
	x.d.sim.noteSent(Transmission{ID: x.id, What: BusRequest})
	return x.waitUntil(t)
}

// show puts the first frame out, if it passes the filter.
func (x *exchange) show() error {
	f := x.frames[0]
	x.frames = append(x.frames[:0], x.frames[1:]...)
	c := x.d.chip
	c.lastHeard = x.clock
	c.busFree = x.clock + klineP3
	if x.row.kind == busCAN && !x.passes(f.id) {
		return nil
	}
	x.shown++
	if f.last {
		x.messages++
	}
	c.learn(x.clock - x.before)
	x.before = x.clock
	x.deadline = x.clock + x.patience()
	if x.d.sim.profile.WaitsPending && f.saysPending(x.row.kind) {
		x.deadline = max(x.deadline, x.clock+pendingPatience)
	}
	if !c.replies {
		return nil
	}
	damaged := x.put(&f)
	at := x.clock
	if x.d.sim.paced || !x.d.sim.instant { // a host may see each line as it comes
		if err := x.d.flush(); err != nil {
			return err
		}
		at = x.d.sentAt
	}
	if !damaged && f.last {
		x.d.sim.noteReadings(at, f.source(x.row), f.readings)
	}
	return nil
}
