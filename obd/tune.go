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
	tuneLooks   = 5                     // replies timed before and after
)

// tune shortens the adapter's wait where that is proved to lose no reply.
func (p *Poller) tune() error {
	p.can.Timeout = 0
	if !p.support.Has(engineSpeed) {
		return nil
	}
	slowest, idle, whole, err := p.timeReplies()
	if err != nil || !whole || idle < tuneFrom {
		return err
	}
	ticks := (3*slowest/2 + tuneSpare + timeoutTick - 1) / timeoutTick
	if ticks > 0xFF || ticks*timeoutTick >= idle {
		return nil
	}
	if err := p.setWait(ticks * timeoutTick); err != nil {
		return err
	}
	_, after, whole, err := p.timeReplies()
	if err != nil {
		return err
	}
	if !whole || after > idle-timeoutTick {
		return p.untune()
	}
	p.can.Timeout = ticks * timeoutTick
	return nil
}

// untune gives the adapter its own wait back.
func (p *Poller) untune() error {
	p.can.Timeout = 0
	return p.setWait(0)
}

// setWait sets how long the adapter waits for replies; 0 is its own wait.
func (p *Poller) setWait(wait time.Duration) error {
	if wait == 0 {
		return p.set(timeoutHand)
	}
	return p.set(fmt.Sprintf("ATST%02X", int(wait/timeoutTick)))
}

// timeReplies asks for engine speed some times, as the schedule will: how long the slowest
// last line took, how long the adapter then waited at least, and whether each was answered
// whole.
func (p *Poller) timeReplies() (slowest, idle time.Duration, whole bool, err error) {
	idle = time.Hour
	plain := p.can.request(engineSpeed)
	request := plain
	for range 1 + tuneLooks {
		x, messages, err := p.do(request, waitReply)
		if err != nil {
			return 0, 0, false, err
		}
		n := answerLines(&x, messages)
		if n == 0 || x.Ending != EndPrompt {
			return 0, 0, false, nil
		}
		last := x.Lines[len(x.Lines)-1].At
		slowest = max(slowest, last-x.Sent)
		if p.can.Count && n <= 9 && request == plain {
			request += string(rune('0' + n))
			continue // how long it waits without the digit does not count
		}
		idle = min(idle, x.Done-last)
	}
	return slowest, idle, true, nil
}
