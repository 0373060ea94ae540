package cli

import (
	"fmt"
	"text/tabwriter"
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

func (c *adapterCommand) text(e *env, x *inquiry.Examination) error {
	w := tabwriter.NewWriter(e.out, 0, 0, 2, ' ', 0)
	row := func(name, value string) { _, _ = fmt.Fprintf(w, "%s\t%s\n", name, value) }
	row("grade", gradeWords[gradeOf(x)].text)
	row("adapter", fmt.Sprintf("%s (its own words, which prove nothing)", x.Adapter))
	row("port", c.Port+baudText(x.Baud))
	row("car", x.Car)
	row("protocol", protocolText(&x.Capabilities))
	for _, a := range x.Abilities {
		row(string(a.Name), abilityText(&a, x.Count))
	}
	if !x.Mixed {
		row("one exchange", fmt.Sprintf("%.1f ms", milliseconds(x.Exchange)))
		if renewedSlowly(x) {
			row("new values", fmt.Sprintf("%.1f per second: the car renews engine speed less often than it is read", x.Renewed))
		}
		row("engine speed", fmt.Sprintf("%.0f readings per second", x.PerSecond))
	}
	if text := trafficText(&x.Traffic); text != "" {
		row("bus traffic", text)
	}
	if x.Traffic.Hearing != inquiry.NotListened && x.Traffic.Hearing != inquiry.NotOnCAN {
		row("", trafficMeans)
	}
	return w.Flush()
}

// forms are the protocols by the form of the replies, where the adapter does not report its own.
var forms = map[obd.Form]string{
	obd.FormCAN11: "CAN with 11-bit addresses", obd.FormCAN29: "CAN with 29-bit addresses",
	obd.FormKLine: "ISO 9141-2 or ISO 14230-4", obd.FormJ1850: "SAE J1850",
}

// protocolText names the protocol, as the adapter reports it or else by the form of the replies.
func protocolText(can *obd.Capabilities) string {
	if name := obd.ProtocolName(can.Protocol); name != "" {
		return name
	}
	if shape := forms[can.Form]; shape != "" {
		return shape + ", by the form of the replies; the adapter does not report it"
	}
	return "not known: the adapter does not report it"
}

// abilityText is what came of trying an ability. A wait after replies costs nothing where the count
// digit avoids it.
func abilityText(a *inquiry.Ability, counted bool) string {
	text := a.Proven.String()
	if a.Detail != "" {
		text += ": " + a.Detail
	}
	if a.Name == inquiry.AdaptiveTiming && a.Proven == inquiry.Pretends && counted {
		text += "; no loss: the reply count digit avoids the wait"
	}
	return text
}

func (c *adapterCommand) json(e *env, x *inquiry.Examination) error {
	out := adapterJSON{Grade: gradeWords[gradeOf(x)].code, Traffic: trafficFor(&x.Traffic), Adapter: x.Adapter, Port: c.Port, Baud: x.Baud, Car: x.Car, Protocol: protocolText(&x.Capabilities),
		ExchangeMS: milliseconds(x.Exchange), ReadingsPerSecond: tenth(x.PerSecond), RenewedPerSecond: known(x.Renewed)}
	for _, a := range x.Abilities {
		out.Abilities = append(out.Abilities, abilityJSON{string(a.Name), a.Proven.String(), a.Detail})
	}
	return writeJSON(e.out, out)
}

func baudText(baud int) string {
	if baud == 0 {
		return ""
	}
	return fmt.Sprintf(" at %d baud", baud)
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
