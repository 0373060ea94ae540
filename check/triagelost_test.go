package check

import (
	"fmt"
	"strings"
	"testing"
)

// One computer that misses many gets one line, and is itself to be looked at; one that answers is
// not called dead (common practice, no source).
func TestTriage_OneMissesMany(t *testing.T) {
	r := remembers(t, map[string][]string{"768": {"U0101-87 current", "U0121-87 current", "U0140-87 current", "U0155-87 current", "U0100-87 current"}, "77A": {"U0100-00 current"}, "7E8": nil})
	r.ecu("7E8").Lists = Lists{"stored": ListRead}
	got := words(triage(r))
	if !strings.Contains(got, "others may miss them as well") || strings.Count(got, "768 first") != 1 || !strings.Contains(got, "it alone misses 4 others (U0101, U0121, U0140, U0155)") || strings.Contains(got, "Look at what U0121") {
		t.Error(got)
	}
	if !strings.Contains(got, "wires between 768, 77A and 7E8: U0100") && !strings.Contains(got, "it answers now") || strings.Contains(got, "Look at what U0100 names") {
		t.Error(got)
	}
	r = remembers(t, map[string][]string{"768": {"U0100-87 current", "U0121-87 current", "U0140-87 current"}, "7E8": nil})
	if got := words(triage(r)); strings.Contains(got, "answers now") {
		t.Errorf("it has answered nothing: %s", got)
	}
	r.ecu("7E8").Lists = Lists{"stored": ListRead}
	if got := words(triage(r)); !strings.Contains(got, "7E8, which U0100 names, answers now") {
		t.Error(got)
	}
	two := words(triage(remembers(t, map[string][]string{"768": {"U0121-87 current", "U0140-87 current"}})))
	if strings.Count(two, "Look at what U01") != 2 || strings.Contains(two, "misses") {
		t.Error(two)
	}
}

// Bus off is a matter of the wiring, before any single module (published service information).
func TestTriage_BusOff(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": {"U0073 stored", "P0304 stored", "U0121 stored"}, "768": {"U0100-88 current"}})
	list := triage(r)
	got := words(list)
	if !strings.HasPrefix(list[0].Do, "Look at the bus itself") || !strings.Contains(list[0].Do, "U0073 (7E8), U0100-88 (768)") || strings.Contains(got, "what else is present") || !strings.Contains(got, "U0121") {
		t.Error(got)
	}
}

// A converter code of the past is not told as work to do now.
func TestTriage_ConverterPast(t *testing.T) {
	got := words(triage(remembers(t, map[string][]string{"7E9": {"P0741-00 history"}})))
	if !strings.Contains(got, "P0741-00 history; none of these is told as present") || strings.Contains(got, "Converter clutch and what controls it:") {
		t.Error(got)
	}
	r := remembers(t, map[string][]string{"7E9": {"P0741-00 history"}, "7E8": {"P0741 stored"}})
	if got := words(triage(r)); !strings.Contains(got, "Converter clutch and what controls it: P0741;") || strings.Contains(got, "told as present") {
		t.Error(got)
	}
	r = remembers(t, map[string][]string{"7E9": {"P0741-00 history"}})
	r.ECUs[0].Codes[0].Words = "this computer does not tell whether it fails now, stored"
	if got := words(triage(r)); !strings.Contains(got, "Converter clutch and what controls it: P0741-00") {
		t.Error(got)
	}
}

// The same voltage means another thing with the engine running.
func TestTriage_Volts(t *testing.T) {
	running, stands := 750.0, 0.0
	for _, c := range []struct {
		volts float64
		rpm   *float64
		want  string
	}{
		{12.2, &running, "Check the charging first: 12.2 V"}, {12.2, &stands, "Charge and test the battery first: 12.2 V"}, {12.2, nil, "Charge and test the battery"},
		{11.5, &running, "Check the charging first"}, {12.6, &stands, ""}, {12.6, &running, "Check the charging first"}, {14.2, &running, ""}, {15.6, &running, "charging voltage"}, {0, &running, ""},
	} {
		r := remembers(t, map[string][]string{"7E8": nil})
		r.Volts, r.EngineRPM = c.volts, c.rpm
		if got := words(triage(r)); !strings.Contains(got, c.want) || c.want == "" && got != "" {
			t.Errorf("%.1f V: %s, want %q", c.volts, got, c.want)
		}
	}
}

// Self-tests that have not run are named where nothing tells how far codes were cleared ago.
func TestTriage_TestsOpen(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": nil})
	r.ECUs[0].Readiness = []Monitor{{"catalyst", false}, {"misfire", true}}
	if got := words(triage(r)); !strings.Contains(got, "not complete: 1 of 2 (7E8)") {
		t.Error(got)
	}
	minutes := 4000.0
	r.ECUs[0].Cleared = &Cleared{Minutes: &minutes}
	if got := triage(r); len(got) != 0 {
		t.Error(words(got))
	}
}

// A lamp that nothing explains, and one whose codes were refused.
func TestTriage_Lamp(t *testing.T) {
	on := true
	for _, c := range []struct {
		lists Lists
		want  string
	}{
		{Lists{"stored": ListRead, "pending": ListRead, "permanent": NotTold}, "commanded on: 7E8 told no stored code"},
		{Lists{"stored": refusedBegins + "it does not know this service; do not ask it again (11)", "pending": ListRead, "permanent": NotTold}, "refuses to tell them (stored), though it commands the lamp on"},
		{Lists{"stored": refusedBegins + "busy; ask again in a moment, three times at most (21)", "pending": ListRead, "permanent": NotTold}, "Read the codes again"},
	} {
		r := remembers(t, map[string][]string{"7E8": nil})
		r.ECUs[0].Lists, r.ECUs[0].Lamp = c.lists, &on
		if list := triage(r); len(list) != 1 || !strings.Contains(list[0].Do, c.want) {
			t.Errorf("%s; want %s", words(list), c.want)
		}
	}
}

// A reply that lost its header on the way makes no computer without a name.
func TestNamed(t *testing.T) {
	for want, ids := range map[string][]string{"[7E8 7E9]": {"7E9", "", "7E8"}, "[]": {""}, "[7E8]": {"7E8"}} {
		if got := fmt.Sprint(named(ids)); got != want {
			t.Errorf("%q: %s, want %s", ids, got, want)
		}
	}
}

// A computer cannot have lost itself; who it tells of is another one, or it is wrong (ISO 15765-4:
// the engine's replies with 7E8).
func TestTriage_LostItself(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": {"U0100 stored"}})
	if got := words(triage(r)); strings.Contains(got, "not at 7E8") || !strings.Contains(got, "Find out which computer U0100 means: 7E8 tells it, and has the address of the one that it names") {
		t.Error(got)
	}
	r = remembers(t, map[string][]string{"7E8": {"U0100 stored"}, "768": {"U0100-00 current"}})
	if got := words(triage(r)); !strings.Contains(got, "Look at the wires between 768 and 7E8") || strings.Contains(got, "not at 7E8") {
		t.Error(got)
	}
	r = remembers(t, map[string][]string{"7E8": {"U0100 stored", "U0121 stored", "U0140 stored"}})
	if got := words(triage(r)); strings.Contains(got, "misses") || !strings.Contains(got, "Find out which computer U0100 means") {
		t.Error(got)
	}
}

// Counts that have reached their largest value tell a least one (SAE J1979: 255 warm-ups, 65535 km
// and minutes).
func TestCleared_Saturated(t *testing.T) {
	for want, v := range map[string][3]float64{
		"at least 65535 km, at least 65535 min, at least 255 warm-ups": {65535, 65535, 255}, "65534 km, 65534 min, 254 warm-ups": {65534, 65534, 254},
	} {
		if got := (&Cleared{KM: &v[0], Minutes: &v[1], WarmUps: &v[2]}).text(); got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
	km := 65535.0
	r := remembers(t, map[string][]string{"7E8": nil})
	r.ECUs[0].Cleared, r.ECUs[0].Readiness = &Cleared{KM: &km}, []Monitor{{"a", false}, {"b", false}, {"c", false}}
	if got := words(triage(r)); !strings.Contains(got, "within at least 65535 km") {
		t.Error(got)
	}
}
