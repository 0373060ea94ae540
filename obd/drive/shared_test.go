package drive

import (
	"encoding/hex"
	"math"
	"strings"
	"testing"
	"time"

	"judder/obd"
	"judder/obd/reply"
	"judder/pids"
)

// bundleLine is a reply of the engine's ECU with engine speed and road speed.
const bundleLine = "7E806410C1AF80D64"

func unhexAll(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

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

// lineWith is a reply line that shows a status text where it belongs.
func lineWith(s *reply.Status) string {
	switch {
	case s.Place == reply.Suffix:
		return bundleLine + s.Text
	case s.Place == reply.Prefix && s.Action == reply.ActNothing:
		return s.Text + bundleLine
	case s.Text == "ERR":
		return "ERR94"
	case s.Text == "ELM":
		return "ELM327 v1.5"
	}
	return s.Text
}
