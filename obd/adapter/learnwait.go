package adapter

import (
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/schedule"
)

const (
	learnFrom   = 25 * time.Millisecond // idle wait from which it is worth it
	learnSpare  = 10 * time.Millisecond // beyond one and a half times the slowest reply seen
	learnDoubts = 2                     // times that a request is put again when fewer replies came than before
	learnLooks  = 6                     // replies for engine speed timed before and after; of the rest one each
)

// Learn shortens the adapter's wait where that is proved to lose no reply to anything that the
// schedule asks.
func (w *Wait) Learn() error {
	c := w.car
	w.learnt = ticksOwn
	if !c.support.Has(obd.EngineSpeed) {
		return nil
	}
	own, err := c.timeReplies(c.can.Parameters(obd.EngineSpeed), learnLooks)
	switch {
	case err != nil:
		return err
	case own.lines == 0:
		w.later(c.Now(), false)
		return nil
	case own.idle < learnFrom:
		w.later(c.Now(), true)
		return nil
	}
	slowest, before, err := c.timeRest(own)
	if err != nil {
		return err
	}
	wanted := ticks((3*slowest/2 + learnSpare + tick - 1) / tick)
	if wanted >= ticksMost || time.Duration(wanted)*tick >= own.idle {
		w.later(c.Now(), true)
		return nil
	}
	if err := w.to(true, wanted); err != nil {
		return err
	}
	return w.prove(wanted, own, before)
}

// prove keeps a wait that loses no reply and shortens the exchanges; any other is given up.
func (w *Wait) prove(wanted ticks, own timing, before map[string]int) error {
	c, speed := w.car, w.car.can.Parameters(obd.EngineSpeed)
	for request, lines := range before {
		looks := 1
		if request == speed {
			looks = learnLooks
		}
		t, err := c.timeReplies(request, looks)
		for try := 0; try < learnDoubts && err == nil && t.lines < lines; try++ { // some ECUs answer now and then
			t, err = c.timeReplies(request, looks)
		}
		if err != nil {
			return err
		}
		switch idles := request == speed && t.idle > own.idle-tick; {
		case idles || request == speed && t.lines < lines:
			return w.giveUp(c.Now(), idles)
		case t.lines < lines && w.relearn.starved < starvedMost:
			w.relearn.starved++
			return w.giveUp(c.Now(), false)
		}
	}
	w.learnt = wanted
	return nil
}

// timeRest times what the schedule asks beside engine speed: the slowest, and how many replies
// each brings, engine speed included.
func (c *Car) timeRest(own timing) (slowest time.Duration, lines map[string]int, err error) {
	speed := c.can.Parameters(obd.EngineSpeed)
	slowest, lines = own.slowest, map[string]int{speed: own.lines}
	for _, request := range schedule.New(c.can, c.Wanted()).Requests() {
		if lines[request] > 0 {
			continue
		}
		t, err := c.timeReplies(request, 1)
		if err != nil {
			return 0, nil, err
		}
		slowest, lines[request] = max(slowest, t.slowest), t.lines
		if !c.can.Bundle && len(lines)%2 == 0 { // engine speed is not to be missed meanwhile
			if _, err := c.timeReplies(speed, 1); err != nil {
				return 0, nil, err
			}
		}
	}
	return slowest, lines, nil
}

// timing is what was seen of the replies to one request.
type timing struct {
	lines   int           // reply lines, each a whole message; 0 when some request brought none
	slowest time.Duration // until the last line
	idle    time.Duration // that the adapter waited after it, at least
}

// timeReplies asks some times, as the schedule will.
func (c *Car) timeReplies(plain string, looks int) (t timing, err error) {
	request := plain
	t.idle = time.Hour
	for range looks {
		x, got, err := c.Learn(request, elm.WaitReply)
		if err != nil {
			return timing{}, err
		}
		n := got.WholeLines()
		if n == 0 || x.Ending != obd.EndPrompt {
			return timing{}, nil
		}
		last := x.Lines[len(x.Lines)-1].At
		t.slowest, t.lines = max(t.slowest, last-x.Sent), max(t.lines, n)
		if c.Counts() && n <= 9 && request == plain {
			request += string(rune('0' + n))
			continue // how long it waits without the digit does not count
		}
		t.idle = min(t.idle, x.Done-last)
	}
	return t, nil
}
