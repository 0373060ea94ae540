package inquiry

import (
	"fmt"
	"strings"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
)

// examineLooks is how often a wait is measured.
const examineLooks = 6

func tryHeaders(c *adapter.Conn) (Proven, string, error) {
	switch {
	case c.Can().Form != obd.FormBare:
		return Works, "", nil
	case c.Refused("ATH1"):
		return Refuses, "control units cannot be told apart", nil
	}
	return Pretends, "control units cannot be told apart", nil
}

func trySpaces(c *adapter.Conn) (Proven, string, error) {
	x, _, err := c.Do(c.Can().Parameters(0), elm.WaitReply)
	if err != nil || len(x.Lines) == 0 {
		return Untried, "", err
	}
	switch {
	case !strings.Contains(strings.TrimSpace(x.Lines[len(x.Lines)-1].Text), " "):
		return Works, "", nil
	case c.Refused("ATS0"):
		return Refuses, "", nil
	}
	return Pretends, "", nil
}

// tryAdaptive compares the wait after a reply with adaptive timing off and on, from the adapter's
// own wait.
func tryAdaptive(c *adapter.Conn) (Proven, string, error) {
	var idle [2]time.Duration
	for i, adaptive := range []bool{false, true} {
		if err := c.Wait().Try(adaptive); err != nil {
			return Untried, "", err
		}
		best := time.Hour
		for range examineLooks {
			x, got, err := c.Do(c.Can().Parameters(0), elm.WaitReply)
			if err != nil {
				return Untried, "", err
			}
			if n := len(x.Lines); got.WholeLines() > 0 {
				best = min(best, x.Done-x.Lines[n-1].At)
			}
		}
		idle[i] = best
	}
	if err := c.Wait().Back(); err != nil {
		return Untried, "", err
	}
	if c.Wait().FixedOnly() {
		return Refuses, "", nil
	}
	detail := fmt.Sprintf("waits %d ms after a reply, %d ms without it", idle[1].Milliseconds(), idle[0].Milliseconds())
	if c.Can().Timeout > 0 {
		detail += fmt.Sprintf("; the wait is set to %d ms", c.Can().Timeout.Milliseconds())
	}
	if idle[1] < idle[0]*3/4 {
		return Works, detail, nil
	}
	return Pretends, detail, nil
}

// notFor is why an ability is not tried where control units cannot be told apart.
const notFor = "needs replies of one control unit"

func tryCount(c *adapter.Conn) (Proven, string, error) {
	if c.Car().Mixed() {
		return Untried, notFor, nil
	}
	if c.Can().Count {
		return Works, "", nil
	}
	if c.Car().CountIdle() {
		return Pretends, "the wait after a reply is the same with it", nil
	}
	return Fails, "the adapter waits for more after each reply", nil
}

func tryBundle(c *adapter.Conn) (Proven, string, error) {
	switch {
	case c.Car().Mixed():
		return Untried, notFor, nil
	case c.Can().Slow:
		return Untried, "older buses carry one parameter a request", nil
	case c.Can().Successor:
		return Untried, "two identifiers of SAE J1979-2 fill more than a frame", nil
	case c.Can().Bundle:
		return Works, "engine speed shares its reply with another", nil
	}
	return Fails, "", nil
}

// tryLong asks for six parameters, the most that a request holds: engine speed and road
// speed must come back with them.
func tryLong(c *adapter.Conn) (Proven, string, error) {
	if !c.Can().Bundle {
		return Untried, "", nil
	}
	_, got, err := c.Do(obd.Hex(0x01, obd.EngineSpeed, 0x0D, 0x04, 0x05, 0x0B, 0x0F), elm.WaitReply)
	if err != nil {
		return Untried, "", err
	}
	for _, m := range got.Messages {
		if d := reply.ParameterData(m.Data); len(d) > 7 {
			return Works, "", nil
		}
	}
	return Fails, "", nil
}
