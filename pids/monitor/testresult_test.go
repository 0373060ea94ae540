package monitor

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/judder-obd/judder/pids"
)

// Records of service 06, computed from the layout of the Scapy packet library; the signed
// ones would fail if they were read as unsigned.
func TestParseResults(t *testing.T) {
	for reply, want := range map[string]string{
		"46 A2 0B 24 00 03 00 00 FF FF A2 0C 24 00 01 00 00 FF FF": "A2/0B 3 [0 65535] count passed, A2/0C 1 [0 65535] count passed",
		"46 01 01 0A 10 00 0D 00 14 00":                            "01/01 499.712 [406.016 624.64] mV passed",
		"46 21 80 84 FF 38 FE 0C 00 64":                            "21/80 -0.2 [-0.5 0.1]  passed",
		"46 35 80 96 FF 9C FF 38 00 C8":                            "35/80 -10 [-20 20] °C passed",
		"46 05 01 0B 00 00 00 00 00 00":                            "05/01 0 [0 0] V not run",
		"46 08 01 0B 00 06 00 06 00 07":                            "08/01 0.006 [0.006 0.007] V passed",
		"46 05 01 0B 00 05 00 06 00 07":                            "05/01 0.005 [0.006 0.007] V failed",
		"46 05 01 7E 00 05 00 06 00 07":                            "05/01 5 [6 7]  unknown",
		"46 05 01 80 FF FF FF FE 00 01":                            "05/01 -1 [-2 1]  unknown",
		"46 21 80 2E 00 01 00 00 00 00":                            "21/80 1 [0 0]  failed",
	} {
		results, err := ParseResults(unhex(t, reply))
		var got []string
		for _, r := range results {
			got = append(got, fmt.Sprintf("%02X/%02X %v [%v %v] %s %v", r.Monitor, r.Test, round(r.Value), round(r.Min), round(r.Max), r.Unit, r.Outcome))
		}
		if strings.Join(got, ", ") != want || err != nil {
			t.Errorf("%s: %s, %v; want %s", reply, strings.Join(got, ", "), err, want)
		}
	}
	for reply, cause := range map[string]error{"46": pids.ErrShort, "45 01": pids.ErrOther, "46 A2 0B 24 00 03 00 00 FF": pids.ErrRecord, "": pids.ErrOther, "46 00 C0 00 00 01 20 80 00 00 01": pids.ErrOther, "46 20 80 00 00 01 40 00 00 00": pids.ErrOther} {
		if _, err := ParseResults(unhex(t, reply)); !errors.Is(err, cause) {
			t.Errorf("%s: %v, want %v", reply, err, cause)
		}
	}
	for id, want := range map[byte]string{0xA1: "misfire, all cylinders", 0xA2: "misfire, cylinder 1", 0xAD: "misfire, cylinder 12", 0xB0: "particulate filter, bank 1", 0x21: "catalyst, bank 1", 0xE1: "maker's monitor E1", 0x5F: "monitor 5F",
		0x01: "oxygen sensor, bank 1 sensor 1", 0x05: "oxygen sensor, bank 2 sensor 1", 0x10: "oxygen sensor, bank 4 sensor 4", 0x42: "oxygen sensor heater, bank 1 sensor 2"} {
		if got := Name(id); got != want {
			t.Errorf("%02X: %q, want %q", id, got, want)
		}
	}
	for id, want := range map[byte]string{0x0C: "this or the last drive cycle", 0x0D: "test 0D", 0x80: "maker's test 80"} {
		if got := TestName(id); got != want {
			t.Errorf("%02X: %q, want %q", id, got, want)
		}
	}
	if got := (Unknown + 1).String(); got != "unknown" {
		t.Errorf("%q", got)
	}
}

func round(x float64) float64 { return math.Round(x*1e6) / 1e6 }

// A test that has not run since codes were cleared is no pass.
func ExampleParseResults() {
	reply := []byte{0x46, 0xA2, 0x0C, 0x24, 0, 1, 0, 0, 0xFF, 0xFF, 0x21, 0x80, 0x84, 0, 0, 0, 0, 0, 0}
	results, err := ParseResults(reply)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range results {
		fmt.Printf("%s, %s: %v %s, %v\n", Name(r.Monitor), TestName(r.Test), r.Value, r.Unit, r.Outcome)
	}
	// Output:
	// misfire, cylinder 1, this or the last drive cycle: 1 count, passed
	// catalyst, bank 1, maker's test 80: 0 , not run
}

func FuzzResults(f *testing.F) {
	for _, s := range []string{"46 A2 0B 24 00 03 00 00 FF FF", "46 05 01 00 64 01 2C"} {
		f.Add(unhex(f, s))
	}
	f.Fuzz(func(t *testing.T, reply []byte) {
		before := string(reply)
		if results, _ := ParseResults(reply); len(results) > len(reply)/resultSize {
			t.Fatalf("%d results in %d bytes", len(results), len(reply))
		}
		if r, err := ParseLegacyResult(reply); err != nil && r != (LegacyResult{}) {
			t.Fatalf("%+v with %v", r, err)
		}
		if string(reply) != before {
			t.Fatal("the reply was changed")
		}
	})
}
