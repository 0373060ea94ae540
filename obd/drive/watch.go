package drive

import (
	"fmt"
	"slices"
	"time"

	"judder/obd"
	"judder/obd/reply"
	"judder/pids"
)

// What was learnt at set-up may cease to hold while all requests are answered: a computer woke
// later than the others, the adapter forgot its short wait. A drive keeps an eye on both.

const (
	// seekSpeed is how often one looks for a computer that tells engine speed where none did:
	// nothing can be judged meanwhile, so that looking costs nothing. seekRest is the same for
	// road speed and throttle, doubled each time, up to seekMost.
	seekSpeed = 3 * time.Second
	seekRest  = 5 * time.Second
	seekMost  = time.Minute

	longWaits  = 20 // exchanges in a row after which a long wait is none by chance
	tuneAgain  = 5 * time.Second
	tuneSeldom = 5 * time.Minute

	starvedMost = 2 // then a computer is silent whatever the wait
)

// watch is what a drive keeps an eye on.
type watch struct {
	sought    time.Duration // when one looked for further computers
	seeks     int           // so often in a row
	starved   int           // times that the wait was given up because replies were missing
	long      int           // exchanges in a row behind which the adapter waited long
	tuned     time.Duration // when its wait was last measured or given up
	tunePause time.Duration // until it is measured again, doubled each time that it was given up
}

// watchOver looks after an answered request whether more can be had than is.
func (p *Poller) watchOver(x *obd.Exchange, messages []reply.Message) error {
	if err := p.seek(x.Done, slices.ContainsFunc(messages, p.decoder.Unknown)); err != nil {
		return err
	}
	w := &p.watch
	if w.long++; len(x.Lines) == 0 || x.Done-x.Lines[len(x.Lines)-1].At < p.can.Timeout+tuneFrom {
		w.long = 0
	}
	if p.schedule.Starved() && p.can.Timeout > 0 && w.starved < starvedMost {
		w.starved++ // some reply no longer comes in time, or its computer is out of sorts
		return p.untune(false)
	}
	switch {
	case w.long < longWaits || p.patient:
		return nil
	case p.can.Timeout > 0: // it was forgotten
		w.long = 0
		return p.setWait(p.can.Timeout)
	case x.Done < w.tuned+w.tunePause:
		return nil
	}
	return p.tune()
}

// lacking is how often to look for computers that have not answered yet; 0 when nothing is
// missed and nobody strange was heard.
func (p *Poller) lacking(stranger bool) time.Duration {
	throttle := p.support.Has(0x11) || p.support.Has(0x45) || p.support.Has(0x4C)
	switch {
	case !p.support.Has(obd.EngineSpeed):
		return seekSpeed
	case !p.support.Has(0x0D) || !throttle || stranger:
		return min(seekRest<<min(p.watch.seeks, 4), seekMost)
	}
	return 0
}

// seek asks everybody now and then where something is missed that only a computer can tell that
// did not answer at set-up, or where one is heard that did not. One that does now is errSetUp.
func (p *Poller) seek(now time.Duration, stranger bool) error {
	every := p.lacking(stranger)
	if every == 0 || now < p.watch.sought+every || p.alone != "" {
		return nil
	}
	p.watch.sought = now
	p.watch.seeks++
	focused := p.can.Focus != ""
	if focused {
		if err := p.askEverybody(); err != nil {
			return err
		}
	}
	_, messages, err := p.do(p.can.Parameters(0), waitReply)
	if err != nil {
		return err
	}
	for _, m := range messages {
		if d := reply.ParameterData(m.Data); !m.Bare && !m.Late && len(d) == 5 && p.support.Of(m.ECU) == nil && p.tellsMissing(d) {
			return p.setUpAgain(obd.CauseFurtherECU, fmt.Sprintf("%s answers now; setting up for it", m.ECU))
		}
	}
	if focused {
		return p.home()
	}
	return nil
}

// tellsMissing tells whether a first support map has something that nobody told so far.
func (p *Poller) tellsMissing(reply []byte) bool {
	var has pids.SupportMap
	if has.Add(reply[0], reply[1:]) != nil {
		return false
	}
	return slices.ContainsFunc(missable, func(pid byte) bool { return has.Has(pid) && !p.support.Has(pid) })
}

// missable are what a drive cannot do without, of the first support map: engine speed, road speed,
// throttle.
var missable = []byte{obd.EngineSpeed, 0x0D, 0x11}
