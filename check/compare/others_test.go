package compare

import (
	"slices"
	"testing"

	"github.com/judder-obd/judder/check"
)

func itemsOf(before, after *check.Report) (got []string) {
	for _, x := range Checks(before, after).Others {
		got = append(got, x.Item+": "+x.Was+" → "+x.Is)
	}
	return got
}

// What else changed is reported where both checks read it.
func TestOthers(t *testing.T) {
	on, off, km, later := true, false, 4000.0, 12.0
	test := func(monitor, test byte, r check.TestResult) check.TestResult {
		r.ID = check.TestID{Monitor: monitor, Test: test}
		return r
	}
	count := func(n float64) check.TestResult {
		return test(0xA5, 0x0C, check.TestResult{Monitor: "misfire, cylinder 4", Value: n, Max: 0xFFFF, Unit: "count", Outcome: check.Passed})
	}
	before := &check.Report{ECUs: []check.ECU{{ID: "7E8", VIN: "1D4GP00R55B123456", Lamp: &on, Calibrations: []string{"A1"}, CVNs: []string{"01"}, PartNumber: "P1",
		Freezes: []check.Freeze{{Code: "P0741"}}, FreezeState: check.Of(check.Read), Cleared: &check.Cleared{KM: &km}, Readiness: []check.Monitor{{Name: "catalyst", Complete: true}, {Name: "misfire"}},
		Tests: []check.TestResult{count(41), test(0x21, 0x80, check.TestResult{Monitor: "catalyst", Test: "maker's test 80", Outcome: check.Failed}), test(0x22, 0x80, check.TestResult{Outcome: check.Failed})}}}}
	after := &check.Report{ECUs: []check.ECU{{ID: "7E8", VIN: "2D4GP00R55B123456", Lamp: &off, Calibrations: []string{"A2"}, CVNs: []string{"02"}, PartNumber: "P2",
		FreezeState: check.Of(check.Read), Cleared: &check.Cleared{KM: &later}, Readiness: []check.Monitor{{Name: "catalyst"}, {Name: "misfire"}},
		Tests: []check.TestResult{count(0), test(0x21, 0x80, check.TestResult{Monitor: "catalyst", Test: "maker's test 80", Outcome: check.Passed}), test(0x22, 0x81, check.TestResult{Outcome: check.Passed})}}}}
	want := []string{"VIN: 1D4GP00R55B123456 → 2D4GP00R55B123456", "malfunction lamp: ON → off", "calibration: A1 → A2", "calibration verification: 01 → 02", "part number: P1 → P2",
		"since codes were cleared: 4000 km → 12 km", "freeze frames: P0741 → none", "self-test catalyst: complete → not complete", "misfire, cylinder 4: 41 → 0", "catalyst, maker's test 80: failed → passed"}
	if got := itemsOf(before, after); !slices.Equal(got, want) {
		t.Errorf("%q\nwant\n%q", got, want)
	}
	if got := itemsOf(before, before); got != nil {
		t.Errorf("%q", got)
	}
	after.ECUs[0].VIN, before.ECUs[0].VIN = "1D4GP00R55B******", "1D4GP00R55B123456"
	if got := itemsOf(before, after); got[0] == want[0] || len(got) != len(want)-1 {
		t.Errorf("a masked number is no other one: %q", got)
	}
}

// Only what both checks read is compared.
func TestOthers_Partly(t *testing.T) {
	km, warm, later, minutes := 12.0, 4.0, 30.0, 5.0
	unread := func(item check.ItemKind) []check.Note {
		return []check.Note{{Item: check.Item{Kind: item}, Outcome: check.Of(check.Damaged)}}
	}
	for _, c := range []struct {
		name    string
		was, is check.ECU
		want    []string
	}{
		{"calibrations cut", check.ECU{Calibrations: []string{"A1", "A2"}}, check.ECU{Calibrations: []string{"A1"}, Unread: unread(check.ItemCalibrations)}, nil},
		{"numbers cut at first", check.ECU{CVNs: []string{"01"}, Unread: unread(check.ItemCVNs)}, check.ECU{CVNs: []string{"01", "02"}}, nil},
		{"numbers, calibrations cut", check.ECU{CVNs: []string{"01"}, Unread: unread(check.ItemCalibrations)}, check.ECU{CVNs: []string{"02"}}, []string{"calibration verification: 01 → 02"}},
		{"counts that both have", check.ECU{Cleared: &check.Cleared{KM: &km, WarmUps: &warm}}, check.ECU{Cleared: &check.Cleared{KM: &later, Minutes: &minutes}}, []string{"since codes were cleared: 12 km → 30 km"}},
		{"no count that both have", check.ECU{Cleared: &check.Cleared{WarmUps: &warm}}, check.ECU{Cleared: &check.Cleared{KM: &later}}, nil},
		{"freeze frame not read", check.ECU{Freezes: []check.Freeze{{Code: "P0741"}}, FreezeState: check.Of(check.Read)}, check.ECU{FreezeState: check.Of(check.Damaged)}, nil},
		{"freeze frame not read at first", check.ECU{FreezeState: check.Of(check.Damaged)}, check.ECU{Freezes: []check.Freeze{{Code: "P0741"}}, FreezeState: check.Of(check.Read)}, nil},
	} {
		c.was.ID, c.is.ID = "7E8", "7E8"
		if got := itemsOf(&check.Report{ECUs: []check.ECU{c.was}}, &check.Report{ECUs: []check.ECU{c.is}}); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	if km != 12 {
		t.Error("the checks themselves were changed")
	}
}
