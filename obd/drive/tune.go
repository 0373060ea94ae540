package drive

import (
	"fmt"
	"judder/obd"
	"judder/obd/reply"
	"time"
)

// An adapter waits after the last reply for more. Where neither the count digit nor its
// adaptive timing shortens that wait (200 ms by default, ELM327 data sheet p. 27), the
// readings a second come down to five; AT ST set to what this car's replies need brings
// them back.

const (
	tuneFrom    = 25 * time.Millisecond // idle wait from which it is worth it
	tuneSpare   = 10 * time.Millisecond // beyond one and a half times the slowest reply seen
	timeoutTick = 4 * time.Millisecond  // AT ST counts in these (ELM327 data sheet p. 27)
	timeoutHand = "ATST00"              // back to the adapter's default
	tuneDoubts  = 2                     // times that a request is put again when fewer replies came than before
	tuneLooks   = 6                     // replies for engine speed timed before and after; of the rest one each
)

// tune shortens the adapter's wait where that is proved to lose no reply to anything that the
// schedule asks.
func (p *Poller) tune() error {
	p.can.Timeout = 0
	if !p.support.Has(obd.EngineSpeed) {
		return nil
	}
	speed := p.can.Parameters(obd.EngineSpeed)
	own, err := p.timeReplies(speed, tuneLooks)
	switch {
	case err != nil:
		return err
	case own.lines == 0:
		p.tuneLater(false)
		return nil
	case own.idle < tuneFrom:
		p.tuneLater(true)
		return nil
	}
	slowest, before, err := p.timeRest(own)
	if err != nil {
		return err
	}
	ticks := (3*slowest/2 + tuneSpare + timeoutTick - 1) / timeoutTick
	if ticks > 0xFF || ticks*timeoutTick >= own.idle {
		p.tuneLater(true)
		return nil
	}
	if err := p.setWait(ticks * timeoutTick); err != nil {
		return err
	}
	for request, lines := range before {
		looks := 1
		if request == speed {
			looks = tuneLooks
		}
		t, err := p.timeReplies(request, looks)
		for try := 0; try < tuneDoubts && err == nil && t.lines < lines; try++ { // some computers answer now and then
			t, err = p.timeReplies(request, looks)
		}
		if err != nil {
			return err
		}
		switch idles := request == speed && t.idle > own.idle-timeoutTick; {
		case idles || request == speed && t.lines < lines:
			return p.untune(idles)
		case t.lines < lines && p.watch.starved < starvedMost:
			p.watch.starved++
			return p.untune(false)
		}
	}
	p.can.Timeout = ticks * timeoutTick
	return nil
}

// timeRest times what the schedule asks beside engine speed: the slowest, and how many replies
// each brings, engine speed included.
func (p *Poller) timeRest(own timing) (slowest time.Duration, lines map[string]int, err error) {
	speed := p.can.Parameters(obd.EngineSpeed)
	slowest, lines = own.slowest, map[string]int{speed: own.lines}
	for _, request := range NewSchedule(p.can, p.wanted()).Requests() {
		if lines[request] > 0 {
			continue
		}
		t, err := p.timeReplies(request, 1)
		if err != nil {
			return 0, nil, err
		}
		slowest, lines[request] = max(slowest, t.slowest), t.lines
		if !p.can.Bundle && len(lines)%2 == 0 { // engine speed is not to be missed meanwhile
			if _, err := p.timeReplies(speed, 1); err != nil {
				return 0, nil, err
			}
		}
	}
	return slowest, lines, nil
}

// untune gives the adapter its own wait back; useless where another brings nothing.
func (p *Poller) untune(useless bool) error {
	p.can.Timeout = 0
	p.tuneLater(useless)
	return p.setWait(0)
}

// tuneLater says when the wait may be measured again: seldom where there is nothing to gain, else
// after a pause that doubles, unless it did well for long.
func (p *Poller) tuneLater(useless bool) {
	w, now := &p.watch, p.cfg.Since()
	w.tunePause = min(max(2*w.tunePause, tuneAgain), tuneSeldom)
	switch {
	case useless:
		w.tunePause = tuneSeldom
	case now > w.tuned+tuneSeldom:
		w.tunePause = tuneAgain
	}
	w.long, w.tuned = 0, now
}

// setWait sets how long the adapter waits for replies; 0 is its own wait.
func (p *Poller) setWait(wait time.Duration) error {
	if wait == 0 {
		return p.set(timeoutHand)
	}
	return p.set(fmt.Sprintf("ATST%02X", int(wait/timeoutTick)))
}

// timing is what was seen of the replies to one request.
type timing struct {
	lines   int           // reply lines, each a whole message; 0 when some request brought none
	slowest time.Duration // until the last line
	idle    time.Duration // that the adapter waited behind it, at least
}

// timeReplies asks some times, as the schedule will.
func (p *Poller) timeReplies(plain string, looks int) (t timing, err error) {
	request := plain
	t.idle = time.Hour
	for range looks {
		x, messages, err := p.learn(request, waitReply)
		if err != nil {
			return timing{}, err
		}
		n := reply.WholeLines(&x, messages)
		if n == 0 || x.Ending != obd.EndPrompt {
			return timing{}, nil
		}
		last := x.Lines[len(x.Lines)-1].At
		t.slowest, t.lines = max(t.slowest, last-x.Sent), max(t.lines, n)
		if p.counts() && n <= 9 && request == plain {
			request += string(rune('0' + n))
			continue // how long it waits without the digit does not count
		}
		t.idle = min(t.idle, x.Done-last)
	}
	return t, nil
}
