package reply

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
)

func control(r rune) bool { return r < ' ' || r >= 0x7F && r < 0xA0 }

// checkSamples holds what came out of a decoder against what any reading must be.
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

// Any lines in any form after any request: no panic, no reading of something that was not
// asked, no control character in an ECU's name; and a good reply afterwards is read.
func FuzzDecoder(f *testing.F) {
	for _, c := range dialogues {
		f.Add(byte(c.form), c.request, strings.Join(c.lines, "\n"))
	}
	for _, r := range goodReplies {
		f.Add(byte(r.form), r.request, r.line+"\n"+r.line)
	}
	f.Add(byte(obd.FormCAN11), "", "\x1b[2J\n\x00\n7E8")
	f.Add(byte(obd.FormBare), "AT", "FFF\n0:\n1: \n:\n3: 41")
	f.Fuzz(func(t *testing.T, form byte, request, text string) {
		var d Decoder
		lines := strings.Split(text, "\n")
		at := time.Duration(0)
		for range 3 { // what outlives an exchange is fed too
			x := exchangeOf(at, obd.Form(form), request, lines...)
			a := ParseRequest(request)
			for _, m := range d.Decode(&x).Messages {
				if len(m.Data) == 0 || strings.ContainsFunc(m.ECU, control) || !a.AnsweredBy(m.Data) {
					t.Fatalf("%q gave % X of %q", lines, m.Data, m.ECU)
				}
			}
			x = exchangeOf(at+time.Millisecond, obd.Form(form), request, lines...)
			checkSamples(t, d.Decode(&x).Samples)
			at += time.Second
		}
		x := exchangeOf(at, obd.FormKLine, "010C", "48 6B 10 41 0C 1A F8 22")
		if got := readings(&d, x); !slices.Equal(got, []string{"10 RPM 1726.00"}) {
			t.Fatalf("afterwards %q", got)
		}
	})
}
