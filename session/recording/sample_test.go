package recording

import (
	"bytes"
	"math"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
)

// allBytes holds every byte value once.
var allBytes = func() string {
	b := make([]byte, 256)
	for i := range b {
		b[i] = byte(i)
	}
	return string(b)
}()

// sampleHeader is a first line with every field filled.
var sampleHeader = Header{
	Start:   time.Date(2026, 3, 1, 14, 30, 0, 250_000_000, time.FixedZone("", 3600)),
	Adapter: "simulated v1.0", Protocol: "ISO 15765-4 (CAN 11/500)", Port: "/dev/ttyUSB0",
	Program: "judder test", VIN: "TESTVEHICLE000001", Extra: map[string]string{"tank": "full", "note": `"quoted" \`},
}

// sampleEntries has every kind, every ending, form and link state, raw bytes of all
// values, and times that are no whole microseconds.
func sampleEntries() []Entry {
	const ms = time.Millisecond
	entries := []Entry{
		OfLink(obd.LinkChange{At: 1 * ms, State: obd.LinkOpening, Text: "opening the port"}),
		OfExchange(obd.Exchange{
			Sent: 2*ms + 345, Request: "ATI", Done: 9*ms + 999,
			Lines: []obd.Line{{At: 5*ms + 1, Text: "simulated v1.0"}},
		}),
		OfLink(obd.LinkChange{At: 10 * ms, State: obd.LinkAdapter, Cause: obd.CauseCarSilent, Text: "turn the ignition on — motor läuft?"}),
		OfExchange(obd.Exchange{Sent: 11 * ms, Request: allBytes, Done: 211 * ms, Ending: obd.EndSilence}),
		OfLink(obd.LinkChange{At: 212 * ms, State: obd.LinkCar}),
		OfExchange(obd.Exchange{
			Sent: 213 * ms, Request: "010C0D1", Done: 240 * ms, Form: obd.FormCAN11,
			Lines: []obd.Line{{At: 220 * ms, Text: "7E80441 0C1AF8"}, {At: 230 * ms, Text: allBytes}, {At: 231 * ms}},
		}),
		Felt(250*ms + 7),
		{Kind: KindFelt, At: 251 * ms, Mark: Mark{Text: "strong"}},
		Note(260*ms, "uphill, \"4th\" gear\nwet \\ road \x1b[31m\xff"),
		OfReading(pids.Sample{At: 300*ms + 999, ECU: "7E8", Signal: pids.RPM, Value: 1726.25}),
		OfReading(pids.Sample{At: 301 * ms, Signal: "Öl", Value: -1e-30}),
		OfReading(pids.Sample{At: 302 * ms, Signal: pids.VSS, Value: math.MaxFloat64}),
		OfCheck(303*ms+1, Check{State: CheckBegun}),
		OfCheck(304*ms, Check{State: CheckOver, Kept: "C:\\drives\\a \"b\"\t.json"}),
		OfCheck(305*ms, Check{State: CheckBroke}),
		Undo(306*ms + 3),
		Blind(307*ms, true),
		Blind(308*ms+9, false),
		Arm(309*ms, "neutral-coast"),
		Arm(309*ms+1, ""),
	}
	for form := range formNames {
		entries = append(entries, OfExchange(obd.Exchange{
			Sent: 400 * ms, Request: "0100", Done: 410 * ms, Form: obd.Form(form), Ending: obd.EndLost,
		}))
	}
	return append(entries, OfLink(obd.LinkChange{At: 500 * ms, State: obd.LinkClosed, Text: "cable"}))
}

// sampleFile is a whole file of sampleEntries, with an about line in the middle.
func sampleFile(t testing.TB) []byte {
	t.Helper()
	var file memFile
	w, err := NewWriter(&file, "sample.jsonl", sampleHeader)
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range sampleEntries() {
		if i == 3 {
			if err := w.About(About{At: e.time(), Protocol: "ISO 9141-2", Extra: map[string]string{"ecus": "2"}}); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Append(e); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(WhyUser); err != nil {
		t.Fatal(err)
	}
	return file.bytes()
}

// truncated is what a reader must give for entries.
func truncated(entries []Entry) []Entry {
	out := make([]Entry, len(entries))
	for i, e := range entries {
		out[i] = Truncate(e)
	}
	return out
}

// load reads a file that must open.
func load(t testing.TB, data []byte) *Recording {
	t.Helper()
	rec, err := LoadFrom(bytes.NewReader(data), "test.jsonl")
	if err != nil {
		t.Fatalf("cannot load: %v", err)
	}
	return rec
}

// sealed makes a line of the part before its checksum.
func sealed(body string) string { return string(seal([]byte(body))) }
