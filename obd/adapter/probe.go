package adapter

import (
	"slices"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
)

// What may be relied on is found out by comparing a known answer. A copy that says OK and does
// nothing, or cuts requests short, is found out here.

// probe finds out what the schedule may rely on.
func (c *Car) probe() error { return inTurn(c.probeBundle, c.probeCount) }

// probeBundle asks for two parameters at once: both must come back in one reply of one ECU.
// Older buses carry one parameter a request; two identifiers of SAE J1979-2 fill more than
// one frame, which costs more than it brings.
func (c *Car) probeBundle() error {
	e := c.support.FirstWith(obd.EngineSpeed)
	if c.can.Slow || c.can.Successor || e == nil {
		return nil
	}
	with := slices.IndexFunc(bundleWith, e.Has)
	if with < 0 {
		return nil
	}
	for range 2 { // a reply may be lost for other reasons
		_, got, err := c.Learn(c.can.Parameters(obd.EngineSpeed, bundleWith[with]), elm.WaitReply)
		if err != nil {
			return err
		}
		for _, m := range got.Messages {
			if bundled(m.Data, bundleWith[with]) {
				c.can.Bundle = true
				return nil
			}
		}
	}
	return nil
}

// bundleWith are parameters of one byte, likeliest first: road speed, throttle, load, coolant.
var bundleWith = []byte{0x0D, 0x11, 0x04, 0x05}

// bundled reports whether a reply holds engine speed and one other parameter, in either order, and
// nothing else: 41, 0C and two bytes, the other and one byte.
func bundled(d []byte, with byte) bool {
	return len(d) == 6 && d[0] == 0x41 && (d[1] == obd.EngineSpeed && d[4] == with || d[1] == with && d[3] == obd.EngineSpeed)
}

// Counts reports whether the count digit is used. Not where one ECU is asked alone and the
// adapter hides who answers: only a second reply shows there that others answer as well. That
// costs two thirds of the readings: 20 a second instead of 62.
func (c *Car) Counts() bool { return c.can.Count && c.address.alone == "" }

// probeCount compares the replies to one request without and with the digit that says how
// many replies to wait for, and how long the adapter waits after the last: the digit must
// bring the same replies and shorten the wait.
func (c *Car) probeCount() error {
	const looks = 3 // a wait is measured so often at most
	request := c.can.Parameters(0)
	idlePlain, idleCounted := time.Hour, time.Hour
	for lost, seen := 0, 0; lost < 2 && seen < looks; { // one reply may be lost by chance
		plain, idle, err := c.replies(request)
		if err != nil || len(plain) > 9 {
			return err
		}
		if plain == nil {
			lost++
			continue
		}
		idlePlain = min(idlePlain, idle)
		counted, idle, err := c.replies(request + string(rune('0'+len(plain))))
		if err != nil {
			return err
		}
		if !sameReplies(plain, counted) {
			lost++
			continue
		}
		seen++
		idleCounted = min(idleCounted, idle)
		if c.can.Count = idleCounted < idlePlain*3/4; c.can.Count {
			return nil
		}
	}
	c.idle = idleCounted < time.Hour // the replies were the same
	return nil
}

// replies are the messages of one request, copied, nil when some line was lost or odd; and
// how long the adapter waited after the last.
func (c *Car) replies(request string) (out []reply.Message, idle time.Duration, err error) {
	x, got, err := c.Learn(request, elm.WaitReply)
	if err != nil || got.Damaged > 0 || len(got.Messages) == 0 || len(got.Messages) != len(x.Lines) || x.Ending != obd.EndPrompt {
		return nil, 0, err
	}
	out = make([]reply.Message, len(got.Messages))
	for i, m := range got.Messages {
		out[i] = reply.Message{ECU: m.ECU, Data: append([]byte(nil), m.Data...)}
	}
	return out, x.Done - x.Lines[len(x.Lines)-1].At, nil
}

// sameReplies compares without regard to order: ECUs answer as the bus lets them.
func sameReplies(a, b []reply.Message) bool {
	if len(a) != len(b) || len(a) == 0 {
		return false
	}
	for _, m := range a {
		if !slices.ContainsFunc(b, func(n reply.Message) bool { return m.ECU == n.ECU && string(m.Data) == string(n.Data) }) {
			return false
		}
	}
	return true
}
