package simcar

import (
	"fmt"
	"time"
)

// frame is a reply frame on its way.
type frame struct {
	due         time.Duration
	ecu         *ECU
	id          uint32
	can         [8]byte
	valid       int    // bytes of can that are not padding
	legacy      []byte // a whole message of the older buses
	first, last bool   // of its message
	readings    []Reading
}

// queueCAN cuts the reply into frames. After a first frame the rest follows only if the
// chip's flow control reaches the ECU.
func (x *exchange) queueCAN(e *ECU, readings []Reading) {
	id := e.replyID(x.row.extended)
	for _, payload := range x.query.messages {
		var room [16][8]byte
		segments := appendSegments(room[:0], payload, e.Pad)
		at, gap, whole := x.clock+x.row.frameTime(), x.row.frameTime(), true
		var fault Fault
		if len(segments) > 1 {
			gap, whole = x.flow(e, id)
			fault = x.longFault(segments, len(payload))
		}
		left, last := len(payload), len(segments)-1
		for i, can := range segments {
			f := frame{due: at, ecu: e, id: id, can: can, first: i == 0, last: i == last}
			header, most := 1, 7
			if i == 0 && last > 0 {
				header, most = 2, 6
				at += time.Millisecond // the chip's flow control frame
			}
			f.valid = header + min(left, most)
			left -= min(left, most)
			if f.last && fault.Kind == 0 {
				f.readings = readings
			}
			if !fault.loses(i, last) {
				x.queue(f)
			}
			if !whole {
				break
			}
			at += gap
		}
	}
}

// longFault takes the fault that strikes a long reply, Kind 0 when none does, and falsifies
// the length in the first frame if that is what it does. The Sim's lock is held.
func (x *exchange) longFault(segments [][8]byte, length int) Fault {
	s := x.d.sim
	f, struck := s.faults.nextLong(s.now(), x.row.kind == busCAN)
	if !struck {
		return Fault{}
	}
	if f.Kind == WrongLength {
		claimed := length + 7
		if f.Count > 0 {
			claimed = min(f.Count, 0xFFF)
		}
		segments[0][0], segments[0][1] = firstFrame|byte(claimed>>8), byte(claimed)
	}
	return f
}

// flow is what comes of the first frame: the gap between the frames that follow, and
// whether they follow at all.
func (x *exchange) flow(e *ECU, id uint32) (gap time.Duration, ok bool) {
	c := x.d.chip
	if !x.passes(id) {
		return 0, false
	}
	target, data, sent := c.flow.frame(id, x.row.extended, x.d.sim.profile.FlowAnywhere)
	if sent {
		x.d.sim.noteSentHeld(Transmission{ID: target, What: FlowControl})
	}
	if !sent || target != e.requestID(x.row.extended) {
		return 0, false
	}
	gap, ok = separation(data)
	return max(gap, x.row.frameTime()), ok
}

// passes reports whether the chip takes in a CAN id.
func (x *exchange) passes(id uint32) bool {
	if x.d.chip.filterSet {
		return x.d.chip.filter.passes(id)
	}
	return replyFilter(x.row.extended).passes(id)
}

// queueLegacy frames the messages of an older bus, one after another.
func (x *exchange) queueLegacy(e *ECU, readings []Reading) {
	at, last := x.clock, len(x.query.messages)-1
	var fault Fault
	if last > 0 {
		fault = x.longFault(nil, 0)
	}
	for i, payload := range x.query.messages {
		f := frame{ecu: e, first: true, last: true}
		switch x.row.kind {
		case busPWM:
			f.legacy = j1850Reply(0x41, e.Address, payload)
		case busVPW:
			f.legacy = j1850Reply(0x48, e.Address, payload)
		case bus9141:
			f.legacy = iso9141Reply(e.Address, payload)
		default:
			f.legacy = kwpReply(e.Address, payload)
		}
		if i > 0 && x.row.slow() {
			at += klineP2
		}
		at += time.Duration(len(f.legacy)) * x.row.byteTime
		f.due = at
		if i == last {
			f.readings = readings
		}
		if !fault.loses(i, last) {
			x.queue(f)
		}
	}
}

// queue puts a frame in its place.
func (x *exchange) queue(f frame) {
	i := len(x.frames)
	for i > 0 && x.frames[i-1].due > f.due {
		i--
	}
	x.frames = append(x.frames, frame{})
	copy(x.frames[i+1:], x.frames[i:])
	x.frames[i] = f
}

// source is the ECU as a header shows it.
func (f *frame) source(row *protocolRow) string {
	switch {
	case row.kind != busCAN:
		return fmt.Sprintf("%02X", f.ecu.Address)
	case row.extended:
		return fmt.Sprintf("%08X", f.id)
	default:
		return fmt.Sprintf("%03X", f.id)
	}
}
