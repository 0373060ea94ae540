package elm

import (
	"time"

	"github.com/judder-obd/judder/obd"
)

// bundleLine is a reply of the engine's ECU with engine speed and road speed.
const bundleLine = "7E806410C1AF80D64"

func exchangeOf(sent time.Duration, form obd.Form, request string, lines ...string) obd.Exchange {
	x := obd.Exchange{Sent: sent, Request: request, Form: form, Done: sent + 25*time.Millisecond}
	for _, l := range lines {
		x.Lines = append(x.Lines, obd.Line{At: sent + 20*time.Millisecond, Text: l})
	}
	return x
}
