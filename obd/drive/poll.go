package drive

import (
	"fmt"
	"judder/obd"
	"judder/obd/reply"
	"time"
)

// What goes wrong while polling, and how often in a row before more is done about it.
const (
	unansweredMost = 6 // replies missing in a row: the car is gone, or the settings are
	bareMost       = 3 // replies without their header
	foreignMost    = 3 // replies by others alone than the one that is asked
	silencesMost   = 3 // requests to the car without a prompt, though the adapter itself answers
	calmAfter      = 3 // replies in a row after which "wait" is forgotten
	silentMost     = 3 // identifications without a prompt: the adapter is gone
	carGoneAfter   = 2 * time.Second
	sleptAfter     = 5 * time.Second // beyond the longest wait for a reply
)

// poll asks by the schedule until the link is lost (its error) or the adapter has lost its
// settings (errSetUp).
func (p *Poller) poll() error {
	missing, bare, foreign, since := 0, 0, 0, p.cfg.Since()
	for {
		if p.ctx.Err() != nil {
			return ErrOver
		}
		select {
		case ask := <-p.asks:
			return p.interject(ask)
		default:
		}
		if err := p.runErrands(); err != nil {
			return err
		}
		before := p.cfg.Since()
		request, x, messages, err := p.askNext()
		if err != nil {
			return err
		}
		if gone := x.Done - before; gone > p.replyWait()+sleptAfter {
			return p.setUpAgain(obd.CauseSlept, fmt.Sprintf("nothing was asked for %v: this computer slept; setting up again", gone.Round(time.Second)))
		}
		if reply.AnyBare(messages) {
			if text := reply.Why(&x, reply.ActSetUp); text != "" {
				return p.setUpAgain(obd.CauseRestarted, "setting the adapter up again"+text)
			}
			if bare++; bare >= bareMost {
				return p.setUpAgain(obd.CauseForgot, "the adapter has lost its settings without a word; setting it up again")
			}
		}
		if p.foreign(messages) {
			if foreign++; foreign >= foreignMost {
				return p.setUpAgain(obd.CauseForgot, "others answer for "+p.can.Focus+": the adapter has lost its settings; setting it up again")
			}
			continue
		}
		if p.others(messages) {
			return p.setUpAgain(obd.CauseForgot, "others answer as well, so the adapter has lost its settings; setting it up again")
		}
		if reply.Answered(messages) {
			missing, foreign, since, p.fruitful = 0, 0, x.Done, true
			if err := p.calmed(); err != nil {
				return err
			}
			if err := p.watchOver(&x, messages); err != nil {
				return err
			}
			continue
		}
		p.term.inStep = false // what was missing may still be under way
		if reply.AnyWaits(messages) {
			if p.schedule.Uncount(request) {
				continue // the digit counted "wait" as the reply; without it the answer may come in time
			}
			if err := p.awaitPending(); err != nil {
				return err
			}
			continue
		}
		missing++
		if err := p.recover(&x, missing, x.Done-since); err != nil {
			return err
		}
	}
}

// askNext asks what the schedule says and tells it what came of it.
func (p *Poller) askNext() (request string, x obd.Exchange, messages []reply.Message, err error) {
	request = p.schedule.Next(p.cfg.Since())
	if x, messages, err = p.do(request, p.replyWait()); err != nil {
		return request, x, messages, err
	}
	p.schedule.Heard(reply.Answered(messages))
	p.schedule.Answered(request, reply.WholeLines(&x, messages))
	return request, x, messages, nil
}

func (p *Poller) replyWait() time.Duration {
	if p.can.Slow {
		return waitReplyBus
	}
	return waitReply
}

// mingled is what is seen of computers without names where one alone should answer.
type mingled struct {
	row   int // exchanges in a row with several answers
	alone int // exchanges in a row with one
	times int // set-ups for it that did not help
}

const (
	mingledRow   = 3  // one late reply is not another computer
	mingledMost  = 3  // then set-up is of no use: mixed replies give no readings
	mingledAlone = 20 // so many show that it did help
)

// others tells whether computers without names answer that should not.
func (p *Poller) others(messages []reply.Message) bool {
	m := &p.mingled
	if p.can.Form != obd.FormBare || p.several || !reply.Differ(messages) {
		m.row = 0
		if m.alone++; m.alone >= mingledAlone {
			m.times = 0
		}
		return false
	}
	m.alone = 0
	if m.row++; m.row < mingledRow || m.times >= mingledMost {
		return false
	}
	m.row = 0
	m.times++
	return true
}

// pendingListen is how long one listens for an answer that comes after "wait".
const pendingListen = time.Second

// awaitPending has the adapter itself wait its longest from now on, because at its prompt it
// hears nothing of the bus; and listens for what it may put out all the same.
func (p *Poller) awaitPending() error {
	p.calm = 0
	if err := p.term.listen(pendingListen); err != nil || p.patient {
		return err
	}
	p.patient = true
	if err := p.set("ATAT0"); err != nil {
		return err
	}
	return p.set("ATSTFF")
}

// calmed gives the adapter its own wait back when no ECU has asked to wait for some time: a
// long wait behind every reply costs most of the readings.
func (p *Poller) calmed() error {
	if !p.patient {
		return nil
	}
	if p.calm++; p.calm < calmAfter {
		return nil
	}
	p.patient = false
	if err := p.set("ATAT1"); err != nil {
		return err
	}
	return p.setWait(p.can.Timeout)
}

// foreign tells whether only others answered than the one that is asked alone.
func (p *Poller) foreign(messages []reply.Message) bool {
	if p.can.Focus == "" || len(messages) == 0 {
		return false
	}
	for i := range messages {
		if messages[i].ECU == p.can.Focus || messages[i].Late {
			return false
		}
	}
	return true
}

// recover does what an unanswered request calls for.
func (p *Poller) recover(x *obd.Exchange, missing int, gone time.Duration) error {
	if x.Ending == obd.EndSilence {
		if err := p.resync(); err != nil || missing < silencesMost {
			return err
		}
		return p.setUpAgain(obd.CauseHangs, "the adapter answers, but its requests to the car hang; setting it up again")
	}
	switch reply.Worst(x) {
	case reply.ActSetUp:
		return p.setUpAgain(obd.CauseRestarted, "setting the adapter up again"+reply.Why(x, reply.ActSetUp))
	case reply.ActReopen:
		if missing > 1 {
			return p.lostCar(carSilent(x))
		}
	case reply.ActAgain:
		p.rest(pauseAgain)
	}
	if p.can.Timeout > 0 && missing == 2 {
		return p.untune(false) // this car may need longer than it did
	}
	if missing < unansweredMost || gone < carGoneAfter {
		return nil
	}
	if reply.Worst(x) == reply.ActCount {
		return p.lostCar(obd.CauseCarSilent, "the car stopped answering; is the ignition on?")
	}
	return p.setUpAgain(obd.CauseNonsense, "the adapter answers, but nothing that makes sense; setting it up again")
}

// resync gets the prompt back from an adapter that went silent in the middle of a reply.
func (p *Poller) resync() error {
	p.tell(obd.LinkOpening, obd.CauseSilent, "the adapter went silent; waiting for it")
	if err := p.fellBack(); err != nil {
		return err
	}
	for range silentMost {
		x, _, err := p.do("ATI", waitSetting)
		if err != nil {
			return err
		}
		if x.Ending == obd.EndPrompt {
			p.tellCar()
			return nil // if its settings are gone, its next replies show it
		}
	}
	return because(obd.CauseSilent, fmt.Errorf("the adapter on %s no longer answers", p.cfg.Name))
}

// lostCar waits for a car that went silent and has everything set up afresh when it is back.
func (p *Poller) lostCar(cause obd.Cause, text string) error {
	p.tell(obd.LinkAdapter, cause, text)
	p.rest(pauseCar)
	if _, _, err := p.do("ATPC", waitSetting); err != nil {
		return err
	}
	return errSetUp
}
