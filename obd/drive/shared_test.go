package drive

import (
	"math"
	"strings"
	"testing"
	"time"

	"judder/obd"
	"judder/pids"
)

func exchangeOf(sent time.Duration, form obd.Form, request string, lines ...string) obd.Exchange {
	x := obd.Exchange{Sent: sent, Request: request, Form: form, Done: sent + 25*time.Millisecond}
	for _, l := range lines {
		x.Lines = append(x.Lines, obd.Line{At: sent + 20*time.Millisecond, Text: l})
	}
	return x
}

func control(r rune) bool { return r < ' ' || r >= 0x7F && r < 0xA0 }

// checkSamples holds readings against what any reading must be.
func checkSamples(t *testing.T, samples []pids.Sample) {
	t.Helper()
	for _, s := range samples {
		if strings.ContainsFunc(s.ECU, control) || len(s.ECU) > 8 {
			t.Fatalf("ECU %q", s.ECU)
		}
		if _, _, known := pids.About(s.Signal); !known || math.IsNaN(s.Value) || math.IsInf(s.Value, 0) {
			t.Fatalf("%+v", s)
		}
	}
}
