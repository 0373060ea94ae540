package compare

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/check"
)

// remembers makes a report: ECU → codes as "P0741 stored".
func remembers(t *testing.T, ecus map[string][]string) *check.Report {
	t.Helper()
	r := &check.Report{}
	for _, id := range []string{"7E8", "7E9", "768", "77A", "771"} {
		list, ok := ecus[id]
		if !ok {
			continue
		}
		e := r.ECU(id)
		for _, text := range list {
			name, state, _ := strings.Cut(text, " ")
			c := check.Code{Code: name}
			if err := c.State.UnmarshalText([]byte(state)); err != nil {
				t.Fatal(err)
			}
			e.Codes = append(e.Codes, c)
		}
	}
	return r
}

// text is a change in one line: what, states, and the reasons as facts.
func text(x *Change) string {
	out := x.ECU + " " + x.Code + " " + string(x.What) + " " + x.Was + ">" + x.Is
	for _, r := range x.Reasons {
		out += " [" + string(r.Time) + " " + string(r.Kind)
		for _, l := range r.Lists {
			out += " " + string(l)
		}
		out += "]"
	}
	return out
}

func kinds(c *Comparison) (out []NoteKind) {
	for _, n := range c.Notes {
		out = append(out, n.Kind)
	}
	return out
}

func TestChecks(t *testing.T) {
	before := remembers(t, map[string][]string{"7E8": {"P0741 stored", "P0741 pending", "P0304 stored"}, "768": {"U0100-00 history"}})
	after := remembers(t, map[string][]string{"7E8": {"P0741 stored", "P0420 stored"}})
	after.ECUs[0].Readiness = []check.Monitor{{Name: "catalyst"}, {Name: "misfire", Complete: true}}
	c := Checks(before, after)
	var got []string
	for i := range c.Changes {
		got = append(got, text(&c.Changes[i]))
	}
	want := []string{"7E8 P0741 changed stored, pending>stored", "7E8 P0304 gone stored>", "768 U0100-00 not read history> [second no answer]", "7E8 P0420 new >stored"}
	if !slices.Equal(got, want) {
		t.Errorf("%q\nwant\n%q", got, want)
	}
	if n := c.Notes[len(c.Notes)-1]; n.Kind != TestsOpen || n.N != 1 || n.ECU.ID != "7E8" {
		t.Errorf("%+v", n)
	}
}

// A masked number of the same car is no other car, and no evidence of the same one either.
func TestChecks_Car(t *testing.T) {
	for _, c := range []struct {
		before, after string
		want          SameCar
		note          []NoteKind
	}{
		{"0TEST11A0K0000002", "0TEST11A0K0000002", Same, nil},
		{"0TEST11A0K0000002", "0TEST11A0K0******", CannotTell, []NoteKind{MaskedVIN}},
		{"0TEST11A0K0******", "0TEST11A0K0000002", CannotTell, []NoteKind{MaskedVIN}},
		{"0TEST11A0K0******", "0TEST11A0K0******", CannotTell, []NoteKind{MaskedVIN}},
		{"0TEST11A0K0000002", "0TEST11A0K0000003", TwoCars, []NoteKind{NotOneCar}},
		{"0TEST11A0K0******", "0TEST22A0K0000002", TwoCars, []NoteKind{NotOneCar}},
		{"", "0TEST11A0K0000002", CannotTell, []NoteKind{NoVIN}},
		{"", "", CannotTell, []NoteKind{NoVIN}},
		{"*****************", "0TEST11A0K0000002", CannotTell, []NoteKind{NoVIN}},
	} {
		before, after := remembers(t, map[string][]string{"7E8": nil}), remembers(t, map[string][]string{"7E8": nil})
		before.VIN, after.VIN = c.before, c.after
		got := Checks(before, after)
		if got.SameCar != c.want || !slices.Equal(kinds(got), c.note) {
			t.Errorf("%q and %q: %q %v, want %q %v", c.before, c.after, got.SameCar, kinds(got), c.want, c.note)
		}
		got.SameConnection()
		if two := c.want == TwoCars; (got.SameCar == TwoCars) != two || !two && (got.SameCar != Same || len(got.Notes) > 0) {
			t.Errorf("%q and %q over one connection: %q %v", c.before, c.after, got.SameCar, kinds(got))
		}
	}
}

// Checks of one moment may be one check given twice, and the older one may be given second.
func TestChecks_Times(t *testing.T) {
	noon := time.Date(2026, 11, 1, 12, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		before, after  time.Time
		same, reversed bool
	}{{noon, noon, true, false}, {noon, noon.Add(1), false, false}, {noon, noon.Add(-1), false, true}, {time.Time{}, time.Time{}, false, false}} {
		before, after := &check.Report{Time: c.before, VIN: "1"}, &check.Report{Time: c.after, VIN: "1"}
		got := Checks(before, after)
		if got.Reversed != c.reversed || slices.Contains(kinds(got), SameMoment) != c.same {
			t.Errorf("%v and %v: %+v", c.before, c.after, got)
		}
	}
}

// A check that broke off is named, whichever it was.
func TestChecks_BrokeOff(t *testing.T) {
	broken := &check.Report{VIN: "1", BrokeOff: &check.Note{Item: check.Item{Kind: check.StepFreeze}, Outcome: check.Of(check.Interrupted)}}
	whole := &check.Report{VIN: "1"}
	if n := Checks(broken, whole).Notes; len(n) != 1 || n[0].Kind != BrokeOff || n[0].Time != First || n[0].At != broken.BrokeOff {
		t.Errorf("%+v", n)
	}
	if n := Checks(whole, broken).Notes; len(n) != 1 || n[0].Kind != BrokeOff || n[0].Time != Second {
		t.Errorf("%+v", n)
	}
}

// What one of two checks did not read is neither new nor gone. What the other lists prove stays.
func TestChecks_Partly(t *testing.T) {
	read, damaged, never := check.Of(check.Read), check.Of(check.Damaged), check.Of(check.BrokenOff)
	lists := func(stored, pending check.Outcome) check.Lists {
		return check.Lists{check.ListStored: stored, check.ListPending: pending, check.ListPermanent: check.Of(check.MaybeNotKept)}
	}
	status := func(o check.Outcome) check.Lists { return check.Lists{check.ListByStatus: o} }
	permanent := func(o check.Outcome) check.Lists {
		return check.Lists{check.ListStored: read, check.ListPending: read, check.ListPermanent: o}
	}
	for _, c := range []struct {
		name          string
		before, after check.Lists
		was, is       []string
		want          string
	}{
		{"broke off before the codes", lists(read, read), lists(never, never), []string{"P0741 stored"}, nil, "not read stored> [second lists not read pending stored]"},
		{"broke off between the lists", lists(read, read), lists(read, never), []string{"P0741 pending"}, nil, "not read pending> [second lists not read pending]"},
		{"the same, still stored", lists(read, read), lists(read, never), []string{"P0741 stored"}, []string{"P0741 stored"}, "unchanged stored>stored"},
		{"read both times", lists(read, read), lists(read, read), []string{"P0741 stored"}, nil, "gone stored>"},
		{"not read at first", lists(never, never), lists(read, read), nil, []string{"P0741 stored"}, "not read >stored [first lists not read pending stored]"},
		{"new", lists(read, read), lists(read, read), nil, []string{"P0741 stored"}, "new >stored"},
		{"cut first, gone", lists(damaged, read), lists(damaged, read), []string{"P0741 stored"}, nil, "not read stored> [second lists not read stored]"},
		{"cut first, new", lists(damaged, read), lists(damaged, read), nil, []string{"P0741 stored"}, "not read >stored [first lists not read stored]"},
		{"missing first, new", check.Lists{check.ListPending: read}, lists(damaged, read), nil, []string{"P0741 stored"}, "not read >stored [first lists not read stored]"},
		{"read, then cut: it is there", lists(read, read), lists(damaged, read), nil, []string{"P0741 stored"}, "new >stored"},
		{"pending not read at first", lists(read, damaged), lists(read, read), []string{"P0741 stored"}, []string{"P0741 stored", "P0741 pending"},
			"not read stored>stored, pending [first lists not read pending]"},
		{"pending not read then", lists(read, read), lists(read, damaged), []string{"P0741 stored", "P0741 pending"}, []string{"P0741 stored"},
			"not read stored, pending>stored [second lists not read pending]"},
		{"surely stored now", lists(read, read), lists(read, damaged), []string{"P0741 pending"}, []string{"P0741 stored"},
			"changed pending>stored [second lists not read pending]"},
		{"a status", status(damaged), status(damaged), []string{"U0140-87 current"}, []string{"U0140-87 history"},
			"changed current>history [second lists not read by status] [first lists not read by status]"},
		{"a status, both read", status(read), status(read), []string{"U0140-87 current"}, []string{"U0140-87 history"}, "changed current>history"},
		{"permanent too, read", permanent(read), permanent(read), []string{"P0741 stored"}, []string{"P0741 stored", "P0741 permanent"}, "changed stored>stored, permanent"},
		{"permanent too, not kept at first", permanent(check.Of(check.MaybeNotKept)), permanent(read), []string{"P0741 stored"}, []string{"P0741 stored", "P0741 permanent"},
			"not read stored>stored, permanent [first lists not read permanent]"},
		{"order of states", lists(read, read), lists(read, read), []string{"P0741 pending", "P0741 stored"}, []string{"P0741 stored", "P0741 pending", "P0741 stored"}, "unchanged stored, pending>stored, pending"},
	} {
		t.Run(c.name, func(t *testing.T) {
			before, after := remembers(t, map[string][]string{"7E8": c.was}), remembers(t, map[string][]string{"7E8": c.is})
			before.ECUs[0].Lists, after.ECUs[0].Lists = c.before, c.after
			x := Checks(before, after).Changes
			if len(x) != 1 || !strings.HasSuffix(text(&x[0]), " "+c.want) || (x[0].Note == "") != (x[0].Reasons == nil) {
				t.Errorf("%q, want %s", text(&x[0]), c.want)
			}
		})
	}
}

// A module that was never asked is another matter than one that was silent; where the adapter
// hides who answers, neither is known.
func TestChecks_NotAsked(t *testing.T) {
	with := remembers(t, map[string][]string{"7E8": nil, "768": {"U0100-00 history"}})
	with.ECUs[1].Module = "760"
	without := remembers(t, map[string][]string{"7E8": nil})
	for _, c := range []struct {
		modules  []check.Asked
		nameless bool
		want     ReasonKind
	}{
		{nil, false, NotAsked},
		{[]check.Asked{{Name: "brakes", Request: "760", Reply: "768"}}, false, NoAnswer},
		{[]check.Asked{{Name: "brakes", Request: "760", Reply: "768", Unreachable: true}}, false, NotAsked},
		{[]check.Asked{{Name: "body", Request: "710", Reply: "77A"}}, false, NotAsked},
		{nil, true, NoNames},
	} {
		without.Modules, without.Nameless = c.modules, c.nameless
		if x := Checks(with, without).Changes; len(x) != 1 || x[0].What != NotRead || x[0].Reasons[0].Kind != c.want || x[0].Reasons[0].Time != Second {
			t.Errorf("%+v, want %s", x, c.want)
		}
		if x := Checks(without, with).Changes; len(x) != 1 || x[0].What != NotRead || x[0].Reasons[0].Kind != c.want || x[0].Reasons[0].Time != First {
			t.Errorf("%+v, want %s", x, c.want)
		}
	}
}

// What only one of two checks read is named also where no code of it is: an ECU, a freeze frame,
// a failed test.
func TestChecks_WhatOneDidNotRead(t *testing.T) {
	ecu := func(id string, change func(e *check.ECU)) check.ECU {
		read := check.Of(check.Read)
		e := check.ECU{ID: id, Lists: check.Lists{check.ListStored: read, check.ListPending: read, check.ListPermanent: read}, FreezeState: read, TestState: check.Note{Outcome: read}}
		if change != nil {
			change(&e)
		}
		return e
	}
	with := func(ecus ...check.ECU) *check.Report { return &check.Report{VIN: "1D4GP00R55B123456", ECUs: ecus} }
	frozen := ecu("7E8", func(e *check.ECU) { e.Freezes = []check.Freeze{{Code: "P0741"}} })
	unfrozen := ecu("7E8", func(e *check.ECU) { e.FreezeState = check.Of(check.Damaged) })
	failed := ecu("7E8", func(e *check.ECU) { e.Tests = []check.TestResult{{Monitor: "catalyst", Outcome: check.Failed}} })
	untested := ecu("7E8", func(e *check.ECU) { e.TestState.Outcome = check.Of(check.Damaged) })
	for _, c := range []struct {
		name          string
		before, after *check.Report
		want          NoteKind
		time          Time
		ecu           string
	}{
		{"an ECU silent then", with(ecu("7E8", nil), ecu("7E9", nil)), with(ecu("7E8", nil)), NotThere, Second, "7E9"},
		{"an ECU silent at first", with(ecu("7E8", nil)), with(ecu("7E8", nil), ecu("7E9", nil)), NotThere, First, "7E9"},
		{"freeze frame", with(frozen), with(unfrozen), FreezesUnread, Second, "7E8"},
		{"freeze frame at first", with(unfrozen), with(frozen), FreezesUnread, First, "7E8"},
		{"failed test", with(failed), with(untested), TestsUnread, Second, "7E8"},
		{"failed test at first", with(untested), with(failed), TestsUnread, First, "7E8"},
	} {
		n := Checks(c.before, c.after).Notes
		if len(n) != 1 || n[0].Kind != c.want || n[0].ECU.ID != c.ecu || c.want != NotThere && n[0].Time != c.time || c.want == NotThere && n[0].Why.Time != c.time {
			t.Errorf("%s: %+v", c.name, n)
		}
	}
	if n := Checks(with(ecu("7E8", nil)), with(untested)).Notes; n != nil {
		t.Errorf("nothing failed: %+v", n)
	}
}

// Codes cleared between two checks show in each count since then that fell.
func TestChecks_ClearedBetween(t *testing.T) {
	at := func(km, minutes, warmUps float64) *check.Report {
		return &check.Report{VIN: "1", ECUs: []check.ECU{{ID: "7E8", Cleared: &check.Cleared{KM: &km, Minutes: &minutes, WarmUps: &warmUps}}}}
	}
	for _, c := range []struct {
		name          string
		before, after *check.Report
		want          bool
	}{
		{"distance", at(500, 60, 4), at(9, 60, 4), true}, {"time", at(500, 60, 4), at(500, 9, 4), true}, {"warm-ups", at(500, 60, 4), at(500, 60, 1), true},
		{"driven on", at(500, 60, 4), at(510, 70, 5), false}, {"the same", at(500, 60, 4), at(500, 60, 4), false},
		{"not read at first", &check.Report{VIN: "1", ECUs: []check.ECU{{ID: "7E8"}}}, at(9, 9, 1), false},
		{"another ECU", at(500, 60, 4), &check.Report{VIN: "1", ECUs: []check.ECU{{ID: "7E9"}}}, false},
	} {
		if got := slices.Contains(kinds(Checks(c.before, c.after)), WereCleared); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}
