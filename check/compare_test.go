package check

import (
	"slices"
	"strings"
	"testing"
)

func TestCompare(t *testing.T) {
	before := remembers(t, map[string][]string{"7E8": {"P0741 stored", "P0741 pending", "P0304 stored"}, "768": {"U0100-00 history"}})
	after := remembers(t, map[string][]string{"7E8": {"P0741 stored", "P0420 stored"}})
	after.ECUs[0].Readiness = []Monitor{{"catalyst", false}, {"misfire", true}}
	c := Compare(before, after)
	got := ""
	for _, x := range c.Changes {
		got += x.ECU + " " + x.Code + " " + x.What + " " + x.Was + ">" + x.Is + " " + x.Note + "\n"
	}
	const want = `7E8 P0741 changed stored, pending>stored 
7E8 P0304 gone stored> 
768 U0100-00 not read history> this computer did not answer the second time
7E8 P0420 new >stored 
`
	if got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
	if !slices.ContainsFunc(c.Notes, func(n string) bool { return strings.Contains(n, "1 self-tests have not run") }) {
		t.Errorf("%v", c.Notes)
	}
}

// A masked number of the same car is no other car, and no proof of the same one either.
func TestCompare_Car(t *testing.T) {
	for _, c := range []struct{ before, after, want string }{
		{"0TEST11A0K0000002", "0TEST11A0K0000002", "yes"},
		{"0TEST11A0K0000002", "0TEST11A0K0******", "cannot tell"},
		{"0TEST11A0K0******", "0TEST11A0K0******", "cannot tell"},
		{"0TEST11A0K0000002", "0TEST11A0K0000003", "NO: two identification numbers"},
		{"0TEST11A0K0******", "0TEST22A0K0000002", "NO: two identification numbers"},
		{"", "0TEST11A0K0000002", "cannot tell"},
		{"", "", "cannot tell"},
	} {
		before, after := remembers(t, map[string][]string{"7E8": nil}), remembers(t, map[string][]string{"7E8": nil})
		before.VIN, after.VIN = c.before, c.after
		if got := Compare(before, after); got.SameCar != c.want || c.want == "cannot tell" && len(got.Notes) == 0 {
			t.Errorf("%q and %q: %q %v, want %q", c.before, c.after, got.SameCar, got.Notes, c.want)
		}
	}
}

// What one of two checks did not read is neither new nor gone.
func TestCompare_NotRead(t *testing.T) {
	read := func(lists ...string) Lists {
		l := Lists{"stored": "not asked: the check broke off", "pending": "not asked: the check broke off"}
		for _, name := range lists {
			l[name] = ListRead
		}
		return l
	}
	for _, c := range []struct {
		name          string
		before, after Lists
		was, is       []string
		want          string
	}{
		{"broke off before the codes", read("stored", "pending"), read(), []string{"P0741 stored"}, nil, "not read: pending and stored codes were not read the second time"},
		{"broke off between the lists", read("stored", "pending"), read("stored"), []string{"P0741 pending"}, nil, "not read: pending codes were not read the second time"},
		{"the same, still stored", read("stored", "pending"), read("stored"), []string{"P0741 stored"}, []string{"P0741 stored"}, "unchanged: "},
		{"read both times", read("stored", "pending"), read("stored", "pending"), []string{"P0741 stored"}, nil, "gone: "},
		{"not read at first", read(), read("stored", "pending"), nil, []string{"P0741 stored"}, "not read: pending and stored codes were not read the first time"},
		{"new", read("stored", "pending"), read("stored", "pending"), nil, []string{"P0741 stored"}, "new: "},
	} {
		t.Run(c.name, func(t *testing.T) {
			before, after := remembers(t, map[string][]string{"7E8": c.was}), remembers(t, map[string][]string{"7E8": c.is})
			before.ECUs[0].Lists, after.ECUs[0].Lists = c.before, c.after
			x := Compare(before, after).Changes
			if len(x) != 1 || x[0].What+": "+x[0].Note != c.want {
				t.Errorf("%+v, want %s", x, c.want)
			}
		})
	}
}

// A computer that was never asked is told apart from one that was silent.
func TestCompare_NotAsked(t *testing.T) {
	with := remembers(t, map[string][]string{"7E8": nil, "768": {"U0100-00 history"}})
	with.ECUs[1].Module = "760"
	without := remembers(t, map[string][]string{"7E8": nil})
	for _, c := range []struct {
		modules []Asked
		want    string
	}{
		{nil, "this computer was not asked"},
		{[]Asked{{Name: "brakes", Request: "760", Reply: "768"}}, "this computer did not answer"},
	} {
		without.Modules = c.modules
		if x := Compare(with, without).Changes; len(x) != 1 || x[0].What != notRead || x[0].Note != c.want+" the second time" {
			t.Errorf("%+v", x)
		}
		if x := Compare(without, with).Changes; len(x) != 1 || x[0].What != notRead || x[0].Note != c.want+" the first time" {
			t.Errorf("%+v", x)
		}
	}
}

// What else changed is told where both checks read it.
func TestCompare_Others(t *testing.T) {
	on, off, km, later := true, false, 4000.0, 12.0
	before := &Report{ECUs: []ECU{{ID: "7E8", Lamp: &on, Calibrations: []string{"A1"}, Freezes: []Freeze{{Code: "P0741"}}, FreezeState: ListRead, Cleared: &Cleared{KM: &km},
		Readiness: []Monitor{{"catalyst", true}}, Tests: []TestResult{{Monitor: "misfire, cylinder 4", ID: "A5/0C", Value: 41, Max: 0xFFFF, Unit: "count"}, {Monitor: "catalyst", ID: "21/80", Outcome: "failed"}}}}}
	after := &Report{ECUs: []ECU{{ID: "7E8", Lamp: &off, Calibrations: []string{"A2"}, FreezeState: ListRead, Cleared: &Cleared{KM: &later},
		Readiness: []Monitor{{"catalyst", false}}, Tests: []TestResult{{Monitor: "misfire, cylinder 4", ID: "A5/0C", Value: 0, Max: 0xFFFF, Unit: "count"}, {Monitor: "catalyst", ID: "21/80", Outcome: "passed"}}}}}
	var got []string
	for _, x := range Compare(before, after).Others {
		got = append(got, x.Item+": "+x.Was+" → "+x.Is)
	}
	want := []string{"malfunction lamp: ON → off", "calibration: A1 → A2", "since codes were cleared: 4000 km → 12 km", "freeze frames: P0741 → none",
		"self-test catalyst: complete → not complete", "misfire, cylinder 4: 41 → 0", "catalyst: failed → passed"}
	if !slices.Equal(got, want) {
		t.Errorf("%q\nwant %q", got, want)
	}
}

// A list that one side did not read whole makes no code new, gone or changed, whichever side
// that was; what the other lists prove stays.
func TestCompare_Partly(t *testing.T) {
	const cut = "trouble codes, byte 9: the reply ends too early; ask again"
	lists := func(stored, pending string) Lists {
		return Lists{"stored": stored, "pending": pending, "permanent": NotTold}
	}
	for _, c := range []struct {
		name          string
		before, after Lists
		was, is       []string
		want          string
	}{
		{"cut first, gone", lists(cut, ListRead), lists("damaged", ListRead), []string{"P0741 stored"}, nil, "not read: stored codes were not read the second time"},
		{"cut first, new", lists("damaged", ListRead), lists(cut, ListRead), nil, []string{"P0741 stored"}, "not read: stored codes were not read the first time"},
		{"missing first, new", Lists{"pending": ListRead}, lists(cut, ListRead), nil, []string{"P0741 stored"}, "not read: stored codes were not read the first time"},
		{"read, then cut: it is there", lists(ListRead, ListRead), lists(cut, ListRead), nil, []string{"P0741 stored"}, "new: "},
		{"pending not read at first", lists(ListRead, "damaged"), lists(ListRead, ListRead), []string{"P0741 stored"}, []string{"P0741 stored", "P0741 pending"},
			"not read: pending codes were not read the first time"},
		{"pending not read then", lists(ListRead, ListRead), lists(ListRead, "damaged"), []string{"P0741 stored", "P0741 pending"}, []string{"P0741 stored"},
			"not read: pending codes were not read the second time"},
		{"surely stored now", lists(ListRead, ListRead), lists(ListRead, "damaged"), []string{"P0741 pending"}, []string{"P0741 stored"},
			"changed: pending codes were not read the second time"},
		{"a status", Lists{byStatus: cut}, Lists{byStatus: cut}, []string{"U0140-87 current"}, []string{"U0140-87 history"},
			"changed: by status codes were not read the second time; by status codes were not read the first time"},
		{"refused permanent", lists(ListRead, ListRead), lists(ListRead, ListRead), []string{"P0741 stored"}, nil, "gone: "},
	} {
		t.Run(c.name, func(t *testing.T) {
			before, after := remembers(t, map[string][]string{"7E8": c.was}), remembers(t, map[string][]string{"7E8": c.is})
			before.ECUs[0].Lists, after.ECUs[0].Lists = c.before, c.after
			x := Compare(before, after).Changes
			if len(x) != 1 || x[0].What+": "+x[0].Note != c.want {
				t.Errorf("%+v, want %s", x, c.want)
			}
		})
	}
}

// Only what both checks read is compared.
func TestCompare_OthersPartly(t *testing.T) {
	km, warm, later := 12.0, 4.0, 30.0
	before := &Report{ECUs: []ECU{{ID: "7E8", Calibrations: []string{"A1", "A2"}, CVNs: []string{"01", "02"}, Cleared: &Cleared{KM: &km, WarmUps: &warm}, PartNumber: "P1"}}}
	after := &Report{ECUs: []ECU{{ID: "7E8", Calibrations: []string{"A1"}, CVNs: []string{"01"}, Cleared: &Cleared{KM: &km}, PartNumber: "P2",
		Unread: []string{"calibration ids: the reply ends too early", "calibration verification numbers: damaged"}}}}
	if x := Compare(before, after).Others; len(x) != 1 || x[0].Item != "part number" || x[0].Was != "P1" || x[0].Is != "P2" {
		t.Errorf("%+v", x)
	}
	after.ECUs[0].Cleared = &Cleared{KM: &later}
	if x := Compare(after, before).Others; len(x) != 2 || x[1].Was != "30 km" || x[1].Is != "12 km" {
		t.Errorf("%+v", x)
	}
	if km != 12 || before.ECUs[0].Cleared.WarmUps == nil {
		t.Error("the checks themselves were changed")
	}
}

// What only one of two checks read is named also where no code of it stands: a computer, a freeze
// frame, a failed test; a computer from another car shows, and two cars are no repair.
func TestCompare_WhatOneDidNotRead(t *testing.T) {
	ecu := func(id string, change func(e *ECU)) ECU {
		e := ECU{ID: id, Lists: Lists{"stored": ListRead, "pending": ListRead, "permanent": ListRead}, FreezeState: ListRead, TestState: ListRead}
		if change != nil {
			change(&e)
		}
		return e
	}
	with := func(vin string, ecus ...ECU) *Report { return &Report{VIN: vin, ECUs: ecus} }
	const one, two = "1D4GP00R55B123456", "2D4GP00R55B999999"
	frozen := ecu("7E8", func(e *ECU) { e.Freezes = []Freeze{{Code: "P0741"}} })
	unfrozen := ecu("7E8", func(e *ECU) { e.FreezeState = "damaged" })
	failed := ecu("7E8", func(e *ECU) { e.Tests = []TestResult{{Monitor: "catalyst", ID: "21/80", Outcome: "failed"}} })
	untested := ecu("7E8", func(e *ECU) { e.TestState = "damaged" })
	module := func(vin string) ECU { return ecu("768", func(e *ECU) { e.VIN = vin }) }
	for name, c := range map[string]struct {
		before, after *Report
		want          string
	}{
		"computer silent then": {with(one, ecu("7E8", nil), ecu("7E9", nil)), with(one, ecu("7E8", nil)), "7E9: this computer did not answer the second time"},
		"computer silent once": {with(one, ecu("7E8", nil)), with(one, ecu("7E8", nil), ecu("7E9", nil)), "7E9: this computer did not answer the first time"},
		"freeze frame":         {with(one, frozen), with(one, unfrozen), "freeze frames (P0741 in the other check) were not read the second time"},
		"failed test":          {with(one, failed), with(one, untested), "test results were not read (failed in the other check: catalyst) the second time"},
		"another's module":     {with(one, module(one)), with(one, module(two)), "changed    VIN"},
		"two cars":             {with(one, frozen), with(two, ecu("7E8", nil)), "these are two cars"},
	} {
		var b strings.Builder
		if err := Compare(c.before, c.after).WriteText(&b); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(b.String(), c.want) {
			t.Errorf("%s: no %q in\n%s", name, c.want, b.String())
		}
	}
	stored := func(states ...string) ECU {
		return ecu("7E8", func(e *ECU) {
			for _, s := range states {
				e.Codes = append(e.Codes, Code{Code: "P0741", State: s})
			}
		})
	}
	if c := Compare(with(one, stored("stored", "pending")), with(one, stored("pending", "stored"))); c.Changes[0].What != "unchanged" {
		t.Errorf("the order of states changes %+v", c.Changes[0])
	}
}

// Codes cleared between two checks show in the counts since then; a code told twice in one list is
// one.
func TestCompare_ClearedBetween(t *testing.T) {
	at := func(km float64, states ...string) *Report {
		e := ECU{ID: "7E8", Lists: Lists{"stored": ListRead}, Cleared: &Cleared{KM: &km}}
		for _, s := range states {
			e.Codes = append(e.Codes, Code{Code: "P0741", State: s})
		}
		return &Report{ECUs: []ECU{e}}
	}
	if got := strings.Join(Compare(at(500, "stored"), at(9)).Notes, "\n"); !strings.Contains(got, "cleared between the two checks (9 km since then, 500 km before)") {
		t.Error(got)
	}
	if got := strings.Join(Compare(at(500, "stored"), at(510)).Notes, "\n"); strings.Contains(got, "cleared between") {
		t.Error(got)
	}
	if c := Compare(at(1, "stored", "stored"), at(2, "stored")); c.Changes[0].What != unchanged {
		t.Errorf("%+v", c.Changes[0])
	}
}
