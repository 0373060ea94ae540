package obd

import (
	"fmt"
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
	tuneLooks   = 6                     // replies for engine speed timed before and after; of the rest one each
)

// tune shortens the adapter's wait where that is proved to lose no reply to anything that the
// schedule asks.
func (p *Poller) tune() error {
	p.can.Timeout, p.watch.long = 0, 0
	pause := p.watch.tunePause
	p.watch.tuned, p.watch.tunePause = p.cfg.Since(), tuneSeldom // nothing to be gained, as a rule
	if !p.support.Has(engineSpeed) {
		return nil
	}
	speed := p.can.request(engineSpeed)
	own, err := p.timeReplies(speed, tuneLooks)
	if err != nil || own.lines == 0 || own.idle < tuneFrom {
		return err
	}
	slowest, before := own.slowest, map[string]int{speed: own.lines}
	for _, request := range NewSchedule(p.can, p.wanted()).Requests() {
		if before[request] > 0 {
			continue
		}
		t, err := p.timeReplies(request, 1)
		if err != nil {
			return err
		}
		slowest, before[request] = max(slowest, t.slowest), t.lines
		if !p.can.Bundle && len(before)%2 == 0 { // engine speed is not to be missed meanwhile
			if _, err := p.timeReplies(speed, 1); err != nil {
				return err
			}
		}
	}
	ticks := (3*slowest/2 + tuneSpare + timeoutTick - 1) / timeoutTick
	if ticks > 0xFF || ticks*timeoutTick >= own.idle {
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
		if err != nil {
			return err
		}
		if request == speed && t.idle > own.idle-timeoutTick { // the setting does nothing
			err := p.untune()
			p.watch.tunePause = tuneSeldom
			return err
		}
		if t.lines < lines {
			return p.untune()
		}
	}
	p.can.Timeout, p.watch.tunePause = ticks*timeoutTick, pause
	return nil
}

// untune gives the adapter its own wait back.
func (p *Poller) untune() error {
	w, now := &p.watch, p.cfg.Since()
	if w.tunePause = min(max(2*w.tunePause, tuneAgain), tuneSeldom); now > w.tuned+tuneSeldom { // it did well for long
		w.tunePause = tuneAgain
	}
	p.can.Timeout, w.long, w.tuned = 0, 0, now
	return p.setWait(0)
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
		n := answerLines(&x, messages)
		if n == 0 || x.Ending != EndPrompt {
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
