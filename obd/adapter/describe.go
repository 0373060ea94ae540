package adapter

import (
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/prose"
)

// describe learns the protocol, and what every ECU supports.
func (c *Conn) describe() error {
	x, _, err := c.Do("ATDPN", elm.WaitSetting)
	if err != nil {
		return err
	}
	if len(x.Lines) > 0 && reply.Worst(&x) == reply.ActNothing {
		c.can.Protocol = prose.Clean(strings.TrimSpace(x.Lines[len(x.Lines)-1].Text))
	}
	number := obd.ProtocolNumber(c.can.Protocol)
	if c.search.found = ""; slices.Contains(ways[1:], "ATTP"+number) {
		c.search.found = number
	}
	switch {
	case c.can.Form == obd.FormKLine && (number == "1" || number == "2"):
		c.can.Form = obd.FormJ1850 // one car in 256 has a first reply whose two check bytes are the same
	case c.can.Form == obd.FormJ1850 && strings.Contains("345", number) && number != "":
		c.can.Form = obd.FormKLine
	}
	c.can.Slow = c.can.Form == obd.FormKLine || c.can.Form == obd.FormJ1850 ||
		c.can.Form == obd.FormBare && strings.ContainsAny(number, "12345")
	return c.car.walkSupport()
}

// walkSupport reads the support maps of whoever is asked.
func (c *Car) walkSupport() error {
	c.support = reply.Support{}
	for base := 0; base < 0xE0; base += 0x20 {
		if base > 0 && !c.support.Has(byte(base)) {
			break
		}
		if err := c.supportMap(byte(base)); err != nil {
			return err
		}
	}
	return nil
}

// Learn is Do while adapter and car are being learnt: an adapter that starts again meanwhile, or
// shows no headers any more, is ErrSetUp.
func (c *Car) Learn(request string, wait time.Duration) (obd.Exchange, *reply.Decoded, error) {
	x, got, err := c.Do(request, wait)
	c.several = c.several || got != nil && got.Outcome == reply.OutcomeMixed
	if err == nil && c.Forgot(&x, got) {
		err = c.ForgotSettings(&x)
	}
	return x, got, err
}

// Forgot reports whether an exchange shows that the adapter started again or lost its settings.
func (c *Car) Forgot(x *obd.Exchange, got *reply.Decoded) bool {
	return reply.Worst(x) == reply.ActSetUp || got.AnyBare() || c.can.Form != obd.FormBare && reply.LongBare(x)
}

// supportMap asks for one map, again when a reply was lost.
func (c *Car) supportMap(base byte) error {
	due := c.decoder.KnownECUs()
	if base > 0 {
		due = slices.DeleteFunc(c.support.ECUs(), func(id string) bool { return !c.support.Of(id).Has(base) })
	}
	for range 3 {
		missing := slices.Clone(due)
		_, got, err := c.Learn(c.can.Parameters(base), elm.WaitReply)
		if err != nil {
			return err
		}
		whole := false
		c.several = base == 0 && len(got.Messages) > 1 || base > 0 && c.several
		for _, m := range got.Messages {
			if d := reply.ParameterData(m.Data); d != nil && c.support.Add(m.ECU, d) == nil {
				whole = true
				missing = slices.DeleteFunc(missing, func(id string) bool { return id == m.ECU })
			}
		}
		if whole && len(missing) == 0 && got.Damaged == 0 {
			return nil
		}
	}
	return nil
}

// Wanted reports which PIDs whoever is asked supports.
func (c *Car) Wanted() func(pid byte) bool {
	if e := c.support.Of(c.can.Focus); e != nil {
		return e.Has
	}
	return c.support.Has
}

// ReportCar reports that the car answers, and who of it.
func (c *Conn) ReportCar() {
	cause := obd.CauseCarFound
	if !c.car.support.Has(obd.EngineSpeed) {
		cause = obd.CauseNoSpeed
	}
	c.Report(obd.LinkCar, cause, c.car.Text())
}

// Text is in words who answers, by which protocol.
func (c *Car) Text() string {
	text := c.answering()
	if name := obd.ProtocolName(c.can.Protocol); name != "" {
		text += ", " + name
	} else if c.can.Form.CAN() {
		text += ", CAN with " + map[obd.Form]string{obd.FormCAN11: "11", obd.FormCAN29: "29"}[c.can.Form] + " bits"
	}
	return text + c.notes()
}

// Who is Text without the protocol.
func (c *Car) Who() string { return c.answering() + c.notes() }

// answering is in words who answers.
func (c *Car) answering() string {
	text := "the car answers"
	named := slices.DeleteFunc(slices.Clone(c.support.ECUs()), func(id string) bool { return id == "" })
	if names := strings.Join(named, ", "); names != "" {
		text += ": " + names
	}
	switch {
	case c.can.Focus != "":
		text += "; " + c.can.Focus + " is asked alone"
	case c.address.alone != "":
		text += "; the adapter hides who answers, so " + c.address.alone + " is asked alone"
	case c.Mixed():
		text += "; several control units answer, and the adapter hides which"
	}
	return text
}

// notes is in words what else there is to say of the car.
func (c *Car) notes() (text string) {
	if c.can.Successor {
		text = ", SAE J1979-2"
	}
	if !c.support.Has(obd.EngineSpeed) {
		text += "; it gives no engine speed, so shudder cannot be seen"
	}
	return text
}
