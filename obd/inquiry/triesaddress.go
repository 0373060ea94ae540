package inquiry

import (
	"fmt"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
)

// tryFocus has one ECU of several asked; where there is only one, an address at which there
// is nobody: silence is the known answer.
func tryFocus(c *adapter.Conn) (Proven, string, error) {
	engine := c.Car().Support().FirstWith(obd.EngineSpeed)
	switch {
	case c.Address().Alone() != "":
		return Works, c.Address().Alone() + " (one reply instead of several)", nil
	case !c.Can().Form.CAN() || engine == nil:
		return Untried, "only on CAN, with headers", nil
	}
	ask, want := obd.RequestAddress(engine.Name), 1
	if len(c.Car().Support().All) == 1 {
		ask, want = map[obd.Form]string{obd.FormCAN11: "7E7", obd.FormCAN29: "18DAEFF1"}[c.Can().Form], 0
		if obd.ReplyAddress(ask) == engine.Name {
			ask = "7E6"
		}
	}
	if err := c.Address().Direct(ask); err != nil {
		return Untried, "", err
	}
	_, got, err := c.Do(c.Can().Parameters(0), elm.WaitReply)
	if err != nil {
		return Untried, "", err
	}
	answered := len(got.Messages)
	if err := c.Address().Home(); err != nil {
		return Untried, "", err
	}
	detail := engine.Name
	if c.Can().Focus == "" {
		detail = "not used in a drive: others report what " + engine.Name + " does not"
	}
	switch {
	case c.Refused("ATSH" + obd.HeaderOf(ask)):
		return Refuses, "", nil
	case answered == want:
		return Works, detail, nil
	case answered > want:
		return Pretends, "others answer as well", nil
	}
	return Fails, "", nil
}

// tryFilter has the adapter listen to an address where nobody answers, and to the right one.
func tryFilter(c *adapter.Conn) (Proven, string, error) {
	var nobody string
	switch c.Can().Form {
	case obd.FormCAN11:
		nobody = "7EF"
	case obd.FormCAN29:
		nobody = "18DAF1EF"
	default:
		return Untried, "only on CAN, with headers", nil
	}
	if err := c.Address().Filter(nobody); err != nil {
		return Untried, "", err
	}
	refused := c.Refused("ATCRA" + nobody)
	_, silent, err := c.Do(c.Can().Parameters(0), elm.WaitReply)
	if err != nil {
		return Untried, "", err
	}
	heard := silent.Answered()
	if err := c.Address().Home(); err != nil {
		return Untried, "", err
	}
	_, back, err := c.Do(c.Can().Parameters(0), elm.WaitReply)
	switch {
	case err != nil:
		return Untried, "", err
	case refused:
		return Refuses, "", nil
	case heard:
		return Pretends, "", nil
	case back.Answered():
		return Works, "", nil
	}
	return Fails, "", nil
}

// longReply asks for the calibration ids, which fill several frames, and reports whether they
// came whole.
func longReply(c *adapter.Conn) (whole, asked bool, err error) {
	if c.Can().Slow {
		return false, false, nil
	}
	_, got, err := c.Do(c.Can().Information(obd.InfoCalibration), elm.WaitReply)
	for _, m := range got.Messages {
		if _, refused := m.Negative(); refused {
			continue
		}
		asked = true
		whole = whole || len(m.Data) > 7
	}
	asked = asked || got.Damaged > 0
	return whole && got.Damaged == 0, asked, err
}

func tryLongReply(c *adapter.Conn) (Proven, string, error) {
	whole, asked, err := longReply(c)
	switch {
	case err != nil || !asked:
		return Untried, "the car has none to give", err
	case whole:
		return Works, "", nil
	}
	return Fails, "parts were lost: codes and identification may be cut", nil
}

// tryFlow sets flow control by hand: with the engine ECU's own address and "send all"
// (30 00 00, ISO 15765-2) a long reply must come; without any, set by mode 1 with an address
// where nobody listens, only its first frame.
func tryFlow(c *adapter.Conn) (Proven, string, error) {
	if c.Can().Form != obd.FormCAN11 || c.Can().Focus == "" {
		return Untried, "only on CAN with 11 bits, with headers", nil
	}
	if whole, _, err := longReply(c); err != nil || !whole {
		return Untried, "needs a long reply", err
	}
	results := [2]bool{}
	for i, header := range []string{obd.RequestAddress(c.Can().Focus), "7EF"} {
		for _, command := range []string{"ATFCSH" + header, "ATFCSD300000", "ATFCSM1"} {
			if err := c.Set(command); err != nil {
				return Untried, "", err
			}
			if c.Refused(command) {
				return Refuses, "", c.Set("ATFCSM0")
			}
		}
		whole, _, err := longReply(c)
		if err != nil {
			return Untried, "", err
		}
		results[i] = whole
	}
	if err := c.Set("ATFCSM0"); err != nil {
		return Untried, "", err
	}
	switch {
	case results[0] && !results[1]:
		return Works, "", nil
	case results[0]:
		return Pretends, "", nil
	}
	return Fails, "", nil
}

func trySpeed(c *adapter.Conn) (Proven, string, error) {
	switch {
	case c.Speed().Found() == 0:
		return Untried, "the network has no speed to set", nil
	case c.Can().Baud > c.Speed().Found():
		return Works, fmt.Sprintf("%d baud instead of %d", c.Can().Baud, c.Speed().Found()), nil
	case c.Speed().Tried():
		return Refuses, fmt.Sprintf("stays at %d baud", c.Speed().Found()), nil
	}
	return Untried, fmt.Sprintf("%d baud is the most that is tried", c.Speed().Found()), nil
}
