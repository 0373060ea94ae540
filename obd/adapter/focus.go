package adapter

import (
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/obd/schedule"
)

// Where several ECUs answer a request, each reply costs its time on the bus and on the
// cable, and one may wake late. Once it is known which of them is the engine's, it is
// asked alone, by its physical address (ISO 15765-4), and the adapter lets only its replies
// pass. What only the others report is fetched by side requests. Where two answer, that brings 63
// readings a second instead of 43. The second opinion on engine speed is lost; none was used.

// focus has the engine's ECU asked alone, where that loses nothing and is proved by a
// known answer: its own support map, and no other reply.
func (c *Car) focus() error {
	c.can.Focus = ""
	if c.can.Form == obd.FormBare && c.several {
		return c.focusBare()
	}
	if !c.can.Form.CAN() {
		return nil
	}
	ecu := schedule.EngineOf(&c.support)
	if ecu == nil {
		return nil
	}
	c.can.Focus = ecu.Name
	c.address.open = schedule.NewSide(c.profile, c.can, &c.support).Any()
	if err := c.address.Home(); err != nil {
		return err
	}
	only, err := c.onlyReply()
	if err != nil || only != nil && only.ECU == ecu.Name {
		return err
	}
	return c.address.Unfocus()
}

// onlyReply asks whoever is addressed for the first support map, once more when a reply is lost;
// nil unless exactly one ECU answers.
func (c *Car) onlyReply() (*reply.Message, error) {
	for range 2 {
		got, _, err := c.replies(c.can.Parameters(0))
		if err != nil || len(got) > 1 {
			return nil, err
		}
		if len(got) == 1 {
			return &got[0], nil
		}
	}
	return nil, nil
}

// engineHeaders are the headers at which ISO 15765-4 puts the engine.
var engineHeaders = map[obd.Form]string{obd.FormCAN11: "7E0", obd.FormCAN29: "DA10F1"}

// focusBare has the engine's ECU asked alone where replies of several come without their
// headers and would be mixed: proved by one reply instead of several, which has engine speed.
// Where that fails everybody is asked again, and Mixed says so.
func (c *Car) focusBare() error {
	header, ok := engineHeaders[hiddenForm(&c.can)]
	if !ok {
		return nil
	}
	c.address.alone = header
	if err := c.set("ATSH" + header); err != nil {
		return err
	}
	if only, err := c.onlyReply(); err != nil {
		return err
	} else if only != nil {
		if err := c.walkSupport(); err != nil {
			return err
		}
		if c.support.Has(obd.EngineSpeed) {
			c.several = true
			return nil
		}
	}
	if err := c.address.Everybody(); err != nil {
		return err
	}
	return c.walkSupport()
}
