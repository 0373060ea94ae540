package triage

import (
	"slices"
	"strings"
	"testing"

	"github.com/judder-obd/judder/check"
)

var readWhole = check.Lists{check.ListStored: check.Of(check.Read), check.ListPending: check.Of(check.Read), check.ListPermanent: check.Of(check.Read)}

// A lost-communication code points at the module it names, never at the one that reports it.
func TestLost_PointsAway(t *testing.T) {
	r := remembers(t, map[string][]string{"768": {"U0140-87 current"}, "77A": {"U0140-00 current"}})
	r.ECUs[0].Module = "brakes"
	wants(t, "two report one", r, "lost U0140|768,77A")
	if a := Of(r)[0]; !strings.Contains(a.Do, r.ECUs[0].Codes[0].Text) || !strings.Contains(a.Do, "brakes") {
		t.Errorf("%+v", a)
	}
}

// One ECU that has lost many gets one line, and is itself to be looked at; one that answers is
// not called dead (common practice, no source).
func TestLost_OneMissesMany(t *testing.T) {
	r := remembers(t, map[string][]string{"768": {"U0101-87 current", "U0121-87 current", "U0140-87 current", "U0155-87 current", "U0100-87 current"}, "77A": {"U0100-00 current"}, "7E8": nil})
	r.Find("7E8").Lists = readWhole
	wants(t, "many", r, "cut-off U0101,U0121,U0140,U0155|768", "lost-answers U0100|768,77A")

	r = remembers(t, map[string][]string{"768": {"U0100-87 current", "U0121-87 current", "U0140-87 current"}, "7E8": nil})
	wants(t, "three", r, "cut-off U0100,U0121,U0140|768")
	silent := Of(r)[0].Why
	r.Find("7E8").Lists = readWhole
	if answers := Of(r)[0].Why; answers == silent || !strings.Contains(answers, "7E8") {
		t.Errorf("it answers now: %s", answers)
	}
	r.ECUs = append(r.ECUs, check.ECU{ID: "77A", Module: "body"})
	if other := Of(r)[0].Why; strings.Count(other, ";") != 3 {
		t.Errorf("another module is there and was not asked for its codes: %s", other)
	}
	r.ECUs[len(r.ECUs)-1].Lists = check.Lists{check.ListByStatus: check.Of(check.Read)}
	if other := Of(r)[0].Why; strings.Count(other, ";") != 2 { // that others were not asked is no longer said
		t.Errorf("another module was asked: %s", other)
	}
	wants(t, "two", remembers(t, map[string][]string{"768": {"U0121-87 current", "U0140-87 current"}}), "lost U0121|768", "lost U0140|768")
}

// Bus off is a matter of the wiring, before any single module (published service information).
func TestLost_BusOff(t *testing.T) {
	wants(t, "bus off", remembers(t, map[string][]string{"7E8": {"U0073 stored"}, "768": {"U0100-88 current", "U0121-87 current", "U0140-88 history"}}),
		"bus-off U0073,U0100-88|7E8,768", "lost U0121|768", "history U0140-88|768")
}

// An ECU cannot have lost itself; the one that it means is another, or it is wrong (ISO 15765-4:
// the engine's replies with 7E8, the transmission's by common practice with 7E9).
func TestLost_Itself(t *testing.T) {
	wants(t, "alone", remembers(t, map[string][]string{"7E8": {"U0100 stored"}}), "lost-itself U0100|7E8")
	wants(t, "the transmission", remembers(t, map[string][]string{"7E9": {"U0101 stored"}}), "lost-itself U0101|7E9")
	wants(t, "with another", remembers(t, map[string][]string{"7E8": {"U0100 stored"}, "768": {"U0100-00 current"}}), "lost-answers U0100|768")
	wants(t, "among many", remembers(t, map[string][]string{"7E8": {"U0100 stored", "U0121 stored", "U0140 stored"}}), "lost-itself U0100|7E8", "lost U0121|7E8", "lost U0140|7E8")
}

// An ECU answers when anything of it came: a list, a code, a self-test, a program, a name.
func TestAnswered(t *testing.T) {
	for _, c := range []struct {
		name string
		ecu  check.ECU
		want bool
	}{
		{"nothing", check.ECU{ID: "7E8", Lists: check.Lists{check.ListStored: check.Of(check.SilentNotNone)}}, false},
		{"a list", check.ECU{ID: "7E8", Lists: readWhole}, true},
		{"a code", check.ECU{ID: "7E8", Codes: []check.Code{{Code: "P0741"}}}, true},
		{"a self-test", check.ECU{ID: "7E8", Readiness: []check.Monitor{{Name: "misfire"}}}, true},
		{"a program", check.ECU{ID: "7E8", Calibrations: []string{"A1"}}, true},
		{"a name", check.ECU{ID: "7E8", Name: "ECM"}, true},
		{"a name from the profile", check.ECU{ID: "768", Module: "760", Name: "brakes"}, false},
	} {
		if got := answered(&c.ecu); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// A code of lost communication that is of the past accuses nobody.
func TestLost_Past(t *testing.T) {
	r := remembers(t, map[string][]string{"768": {"U0140-00 history"}})
	if got := found(r); !slices.Equal(got, []string{"history U0140-00|768", "lost-past U0140-00|768"}) {
		t.Error(got)
	}
}
