package adapter

import (
	"fmt"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
)

// SetUp brings the adapter from any state to a car that answers, and learns what both can do.
// Where the car's replies are Mixed it stops there. It waits for the car as long as the session
// lasts. The error is ErrSetUp or the link's.
func (c *Conn) SetUp() error {
	err := inTurn(c.reset, c.speed.raise, c.unblock, c.prepare, c.search.findCar, c.describe, c.car.focus)
	if err == nil && !c.car.Mixed() {
		err = inTurn(c.car.probe, c.wait.Learn, c.askVIN)
	}
	if err == nil {
		c.ReportCar()
	}
	return err
}

// inTurn takes steps until one fails.
func inTurn(steps ...func() error) error {
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// reset brings the adapter's settings back to their defaults, so that nothing of an earlier
// program is left. One that refuses to is used as it is: the settings that follow do.
func (c *Conn) reset() error {
	c.can = obd.Capabilities{Adapter: c.can.Adapter, Baud: max(c.can.Baud, c.speed.found)}
	c.car.several, c.car.idle = false, false
	c.settings.refused = map[string]bool{}
	c.wait.reset()
	c.address.reset()
	prompt := false
	resets := []string{"ATZ", "ATZ", "ATWS", "ATD"}
	if c.can.Baud > slowest {
		resets = []string{"ATWS", "ATWS", "ATD"} // ATZ would go back to the delivered speed
	}
	for _, command := range resets {
		x, _, err := c.Do(command, elm.WaitReset)
		if err != nil {
			return err
		}
		prompt = prompt || x.Ending == obd.EndPrompt
		if a := reply.Worst(&x); x.Ending == obd.EndPrompt && a != reply.ActRefused && a != reply.ActAgain {
			return nil
		}
	}
	if prompt {
		return nil
	}
	return because(obd.CauseSilent, fmt.Errorf("the adapter on %s does not answer: no prompt after ATZ, ATWS and ATD", c.cfg.Name))
}

// unblock lets an adapter look for a CAN car again that has put out ERR94.
func (c *Conn) unblock() error {
	if !c.blocked {
		return nil
	}
	c.blocked = false
	return c.settings.set("ATFE")
}

// prepare sends the settings that hold for every car.
func (c *Conn) prepare() error {
	if err := c.settings.apply(basics...); err != nil {
		return err
	}
	return c.settings.apply(c.wait.own()...)
}

// askVIN asks the car for its identification number, where that was wanted.
func (c *Conn) askVIN() error {
	if !c.cfg.AskVIN {
		return nil
	}
	_, _, err := c.Do(c.can.Information(obd.InfoVIN), elm.WaitReply)
	return err
}

// Resync gets the prompt back from an adapter that went silent in the middle of a reply.
func (c *Conn) Resync() error {
	const most = 3 // identifications without a prompt: the adapter is gone
	c.Report(obd.LinkOpening, obd.CauseSilent, "the adapter went silent; waiting for it")
	if err := c.speed.fellBack(); err != nil {
		return err
	}
	for range most {
		x, _, err := c.Do("ATI", elm.WaitSetting)
		if err != nil {
			return err
		}
		if x.Ending == obd.EndPrompt {
			c.ReportCar()
			return nil // if its settings are gone, its next replies show it
		}
	}
	return because(obd.CauseSilent, fmt.Errorf("the adapter on %s no longer answers", c.cfg.Name))
}

// LostCar waits for a car that went silent, and has everything set up again when it is back.
func (c *Conn) LostCar(cause obd.Cause, text string) error {
	c.Report(obd.LinkAdapter, cause, text)
	c.Rest(pauseCar)
	if _, _, err := c.Do("ATPC", elm.WaitSetting); err != nil {
		return err
	}
	return ErrSetUp
}
