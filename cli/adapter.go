package cli

import (
	"time"

	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/obd/reply"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/session"
)

// carWait is how long a command that asks and ends waits for the car.
const carWait = 45 * time.Second

type adapterCommand struct {
	portFlags
	JSON bool `help:"Print the result as JSON."`
}

// adapterJSON is the result for machines.
type adapterJSON struct {
	Grade             string        `json:"grade"`
	Adapter           string        `json:"adapter"`
	Port              string        `json:"port"`
	Baud              int           `json:"baud,omitempty"`
	Car               string        `json:"car"`
	Protocol          string        `json:"protocol"`
	Abilities         []abilityJSON `json:"abilities"`
	ExchangeMS        float64       `json:"exchange_ms"`
	ReadingsPerSecond float64       `json:"engine_speed_readings_per_second"`
	Traffic           *trafficJSON  `json:"bus_traffic,omitempty"`
	RenewedPerSecond  *float64      `json:"engine_speed_renewed_per_second,omitempty"` // absent while the engine is stopped
}

type abilityJSON struct {
	Name   string `json:"name"`
	Proven string `json:"proven"`
	Detail string `json:"detail,omitempty"`
}

func (c *adapterCommand) Run(e *env) error {
	if err := c.choose(e); err != nil {
		return err
	}
	var found inquiry.Examination
	err := inquire(e, c.Port, c.Baud, &announcer{e: e}, func(q *inquiry.Inquiry) (err error) {
		e.say("testing the adapter; about twenty seconds")
		found, err = q.Examine()
		return err
	})
	if err != nil {
		return err
	}
	if c.JSON {
		return c.json(e, &found)
	}
	return c.text(e, &found)
}

func (c *adapterCommand) json(e *env, x *inquiry.Examination) error {
	out := adapterJSON{Grade: gradeWords[gradeOf(x)].code, Traffic: trafficFor(&x.Traffic), Adapter: x.Adapter, Port: c.Port, Baud: x.Baud, Car: x.Car, Protocol: protocolText(&x.Capabilities),
		ExchangeMS: milliseconds(x.Exchange), ReadingsPerSecond: tenth(x.PerSecond), RenewedPerSecond: some(x.Renewed)}
	for _, a := range x.Abilities {
		out.Abilities = append(out.Abilities, abilityJSON{string(a.Name), a.Proven.String(), a.Detail})
	}
	return writeJSON(e.out, out)
}

func milliseconds(d time.Duration) float64 { return tenth(float64(d) / float64(time.Millisecond)) }

// inquire opens a port, has the car set up, and runs ask.
func inquire(e *env, port string, baud int, sink adapter.Sink, ask func(*inquiry.Inquiry) error) error {
	config := adapter.Config{Open: e.opener(port), Bauds: e.speeds(port, baud), Name: port, Since: clockFrom(e.started).since}
	return inquiry.Run(e.ctx, config, sink, carWait, func(q *inquiry.Inquiry) error {
		e.rememberPort(port)
		return ask(q)
	})
}

// announcer is a sink that reports how the link comes up and keeps nothing. While the port is tried
// again, it says each thing once.
type announcer struct {
	e    *env
	said map[string]bool
}

func (t *announcer) Exchange(obd.Exchange, *reply.Decoded) {}

func (t *announcer) Link(c obd.LinkChange) {
	if t.said == nil || c.State > obd.LinkOpening {
		t.said = map[string]bool{}
	}
	text := c.Text
	if c.State == obd.LinkClosed && c.Cause != obd.CauseEnded || c.Cause == obd.CauseCarSilent {
		text += "; " + session.TryingAgain
	}
	if !t.said[text] {
		t.said[text] = true
		t.e.say("%s", text)
	}
}
