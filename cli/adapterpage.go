package cli

import (
	"fmt"
	"io"
	"strings"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/tui"
)

// rows are names with what belongs to them, to be printed side by side.
type rows [][2]string

func (r *rows) add(name, value string) { *r = append(*r, [2]string{name, value}) }

// leastValue is how wide a value may be at least, cells, however narrow the terminal.
const leastValue = 24

// print writes the rows; a value too long for a line goes on below itself.
func (r rows) print(w io.Writer, width int) error {
	label := 0
	for _, row := range r {
		label = max(label, prose.Cells(row[0])+2)
	}
	var b strings.Builder
	for _, row := range r {
		for i, line := range prose.WrapText(row[1], max(width-label, leastValue)) {
			name := row[0]
			if i > 0 {
				name = ""
			}
			fmt.Fprintf(&b, "%-*s%s\n", label, name, line)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (c *adapterCommand) text(e *env, x *inquiry.Examination) error {
	var r rows
	r.add("grade", gradeWords[gradeOf(x)].text)
	r.add("adapter", fmt.Sprintf("%s (its own words, which prove nothing)", x.Adapter))
	r.add("port", c.Port+baudText(x.Baud))
	r.add("car", x.Car)
	r.add("protocol", protocolText(&x.Capabilities))
	for _, a := range x.Abilities {
		r.add(string(a.Name), abilityText(&a, x.Count))
	}
	if !x.Mixed {
		r.add("one exchange", fmt.Sprintf("%.1f ms", milliseconds(x.Exchange)))
		if renewedSlowly(x) {
			r.add("new values", fmt.Sprintf("%.1f per second: the car renews engine speed less often than it is read", x.Renewed))
		}
		r.add("engine speed", fmt.Sprintf("%.0f readings per second", x.PerSecond))
	}
	if text := trafficText(&x.Traffic); text != "" {
		r.add("bus traffic", text)
	}
	if x.Traffic.Hearing != inquiry.NotListened && x.Traffic.Hearing != inquiry.NotOnCAN {
		r.add("", trafficMeans)
	}
	return r.print(e.out, tui.TextWidth(e.raw, prose.PageWidth))
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

func baudText(baud int) string {
	if baud == 0 {
		return ""
	}
	return fmt.Sprintf(" at %d baud", baud)
}
