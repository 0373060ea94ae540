package drive

import (
	"fmt"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/prose"
)

// What goes wrong while polling, and how often in a row before more is done about it.
const (
	unansweredMost = 6 // replies missing in a row: the car is gone, or the settings are
	bareMost       = 3 // replies without their header
	foreignMost    = 3 // replies by others alone than the one that is asked
	silencesMost   = 3 // requests to the car without a prompt, though the adapter itself answers
	carGoneAfter   = 2 * time.Second
	sleptAfter     = 5 * time.Second // beyond the longest wait for a reply
)

// faults are what goes wrong in a row.
type faults struct {
	missing, bare, foreign int
	since                  time.Duration // of the last good reply
}

// poll asks by the schedule until the link is lost (its error) or the adapter has lost its
// settings (adapter.ErrSetUp).
func (d *Drive) poll() error {
	f := faults{since: d.conn.Now()}
	for {
		if d.conn.Over() {
			return elm.ErrOver
		}
		select {
		case ask := <-d.asks:
			return d.interject(ask)
		default:
		}
		if err := d.conn.AskSide(d.side); err != nil {
			return err
		}
		if err := d.step(&f); err != nil {
			return err
		}
	}
}

// step asks one request of the schedule and does what its reply calls for.
func (d *Drive) step(f *faults) error {
	c := d.conn
	before := c.Now()
	request, x, got, err := c.AskNext(d.schedule)
	if err != nil {
		return err
	}
	if gone := x.Done - before; gone > c.ReplyWait()+sleptAfter {
		return c.SetUpAgain(obd.CauseSlept, fmt.Sprintf("nothing was asked for %s: this computer slept; setting up again", prose.Duration(gone)))
	}
	if err := d.settingsHold(f, &x, got); err != nil {
		return err
	}
	switch {
	case d.foreign(got):
		return nil
	case got.Outcome == reply.OutcomeAnswered:
		f.missing, f.foreign, f.since = 0, 0, x.Done
		d.read = true
		return d.answered(&x, got)
	}
	c.Doubt() // what was missing may still be under way
	if got.AnyWaits() {
		return d.pending(request)
	}
	f.missing++
	return d.recover(&x, f.missing, x.Done-f.since)
}

// settingsHold is adapter.ErrSetUp when replies show that the adapter lost its settings without a
// word: headers are gone, or others answer than the ECU that is asked alone.
func (d *Drive) settingsHold(f *faults, x *obd.Exchange, got *reply.Decoded) error {
	c := d.conn
	if got.AnyBare() {
		if f.bare++; f.bare >= bareMost || reply.Worst(x) == reply.ActSetUp {
			return c.ForgotSettings(x)
		}
	}
	if d.foreign(got) {
		if f.foreign++; f.foreign >= foreignMost {
			return c.SetUpAgain(obd.CauseForgot, "others answer for "+c.Can().Focus+": the adapter has lost its settings; setting it up again")
		}
	}
	return nil
}

// answered is what the drive does after a good reply.
func (d *Drive) answered(x *obd.Exchange, got *reply.Decoded) error {
	if err := d.conn.Wait().Calm(); err != nil {
		return err
	}
	if err := d.seek(x.Done, got); err != nil {
		return err
	}
	return d.conn.Wait().Watch(x, d.schedule.Starved())
}

// pending waits for an ECU that asks to wait.
func (d *Drive) pending(request string) error {
	if d.schedule.Uncount(request) {
		return nil // the digit counted "wait" as the reply; without it the answer may come in time
	}
	return d.conn.Wait().Pending()
}

// foreign reports whether only others answered than the one that is asked alone.
func (d *Drive) foreign(got *reply.Decoded) bool {
	focus := d.conn.Can().Focus
	if focus == "" || len(got.Messages) == 0 {
		return false
	}
	for i := range got.Messages {
		if got.Messages[i].ECU == focus || got.Messages[i].Late {
			return false
		}
	}
	return true
}

// recover does what an unanswered request calls for.
func (d *Drive) recover(x *obd.Exchange, missing int, gone time.Duration) error {
	c := d.conn
	if x.Ending == obd.EndSilence {
		if err := c.Resync(); err != nil || missing < silencesMost {
			return err
		}
		return c.SetUpAgain(obd.CauseHangs, "the adapter answers, but its requests to the car hang; setting it up again")
	}
	worst := reply.Worst(x)
	switch worst {
	case reply.ActSetUp:
		return c.ForgotSettings(x)
	case reply.ActReopen:
		if missing > 1 {
			return c.LostCar(adapter.CarSilent(x))
		}
	case reply.ActAgain:
		c.Rest(pauseAgain)
	}
	if missing == 2 {
		if doubted, err := c.Wait().Doubted(); doubted || err != nil {
			return err
		}
	}
	if missing < unansweredMost || gone < carGoneAfter {
		return nil
	}
	if worst == reply.ActCount {
		return c.LostCar(obd.CauseCarSilent, "the car stopped answering; is the ignition on?")
	}
	return c.SetUpAgain(obd.CauseNonsense, "the adapter answers, but nothing that makes sense; setting it up again")
}
