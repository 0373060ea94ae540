package drive

import (
	"judder/obd"
	"judder/obd/reply"
	"slices"
	"time"
)

// probe finds out what may be relied on, each by comparing a known answer. A copy that says
// OK and does nothing, or cuts requests short, is found out here.
func (p *Poller) probe() error {
	if err := p.probeBundle(); err != nil {
		return err
	}
	return p.probeCount()
}

// probeBundle asks for two parameters at once: both must come back in one reply of one ECU.
// Older buses carry one parameter a request; two identifiers of SAE J1979-2 fill more than
// one frame, which costs more than it brings.
func (p *Poller) probeBundle() error {
	e := p.support.FirstWith(obd.EngineSpeed)
	if p.can.Slow || p.can.Successor || e == nil {
		return nil
	}
	with := slices.IndexFunc(bundleWith, e.Has)
	if with < 0 {
		return nil
	}
	for range 2 { // a reply may be lost for other reasons
		_, messages, err := p.learn(p.can.Parameters(obd.EngineSpeed, bundleWith[with]), waitReply)
		if err != nil {
			return err
		}
		for _, m := range messages {
			if bundled(m.Data, bundleWith[with]) {
				p.can.Bundle = true
				return nil
			}
		}
	}
	return nil
}

// bundleWith are parameters of one byte, likeliest first: road speed, throttle, load, coolant.
var bundleWith = []byte{0x0D, 0x11, 0x04, 0x05}

// bundled tells whether a reply holds engine speed and one other parameter, in either order, and
// nothing else: 41, 0C and two bytes, the other and one byte.
func bundled(d []byte, with byte) bool {
	return len(d) == 6 && d[0] == 0x41 && (d[1] == obd.EngineSpeed && d[4] == with || d[1] == with && d[3] == obd.EngineSpeed)
}

// counts tells whether the count digit is used. Not where one computer is asked alone and the
// adapter hides who speaks: only a second reply shows there that others answer as well.
func (p *Poller) counts() bool { return p.can.Count && p.alone == "" }

// probeCount compares the replies to one request without and with the digit that says how
// many replies to wait for, and how long the adapter waits behind the last: the digit must
// bring the same replies and shorten the wait.
func (p *Poller) probeCount() error {
	const looks = 3 // a wait is measured so often at most
	request := p.can.Parameters(0)
	idlePlain, idleCounted := time.Hour, time.Hour
	for lost, seen := 0, 0; lost < 2 && seen < looks; { // one reply may be lost by chance
		plain, idle, err := p.replies(request)
		if err != nil || len(plain) > 9 {
			return err
		}
		if plain == nil {
			lost++
			continue
		}
		idlePlain = min(idlePlain, idle)
		counted, idle, err := p.replies(request + string(rune('0'+len(plain))))
		if err != nil {
			return err
		}
		if !sameReplies(plain, counted) {
			lost++
			continue
		}
		seen++
		idleCounted = min(idleCounted, idle)
		if p.can.Count = idleCounted < idlePlain*3/4; p.can.Count {
			return nil
		}
	}
	p.idleCount = idleCounted < time.Hour // the replies were the same
	return nil
}

// replies are the messages of one request, copied, nil when some line was lost or odd; and
// how long the adapter waited behind the last.
func (p *Poller) replies(request string) (out []reply.Message, idle time.Duration, err error) {
	damaged := p.decoder.Counts.Damaged
	x, messages, err := p.learn(request, waitReply)
	if err != nil || p.decoder.Counts.Damaged != damaged || len(messages) == 0 || len(messages) != len(x.Lines) || x.Ending != obd.EndPrompt {
		return nil, 0, err
	}
	out = make([]reply.Message, len(messages))
	for i, m := range messages {
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
		found := false
		for _, n := range b {
			found = found || m.ECU == n.ECU && string(m.Data) == string(n.Data)
		}
		if !found {
			return false
		}
	}
	return true
}
