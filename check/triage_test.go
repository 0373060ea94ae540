package check

import (
	"strings"
	"testing"

	"judder/pids/dtc"
)

// remembers makes a report: computer → codes as "P0741 stored".
func remembers(t *testing.T, ecus map[string][]string) *Report {
	t.Helper()
	r := &Report{Volts: 12.6}
	for _, id := range []string{"7E8", "7E9", "768", "77A", "771"} {
		list, ok := ecus[id]
		if !ok {
			continue
		}
		e := r.ecu(id)
		for _, text := range list {
			name, state, _ := strings.Cut(text, " ")
			code, err := dtc.ParseCode(name)
			if err != nil {
				t.Fatal(err)
			}
			meaning, source := code.Text()
			e.Codes = append(e.Codes, Code{Code: name, State: state, Text: meaning, Source: source})
		}
	}
	return r
}

func words(list []Advice) string {
	var b strings.Builder
	for _, a := range list {
		b.WriteString(a.Do + " | " + a.Why + " | " + a.Source + "\n")
	}
	return b.String()
}

// The trade's order: supply, communication, engine, what else is present, transmission,
// converter, permanent, history. Orders and the rule on lost communication are published in
// service information; the rest is marked "common practice, no source".
func TestTriage_Order(t *testing.T) {
	r := remembers(t, map[string][]string{
		"7E8": {"P0741 history", "P0304 current", "P0700 stored", "P0562 stored", "P0420 permanent"},
		"7E9": {"P0733 current", "P0744 current"},
		"768": {"U0100-87 current", "C0035-11 current", "U0140-00 history"},
	})
	r.Volts = 11.2
	got := words(triage(r))
	at := -1
	for _, want := range []string{"11.2 V", "U0100", "Do not judge shudder today, and repair the engine's misfire, fuel and air codes before the converter: P0304", "C0035-11", "P0733", "P0744", "permanent codes: P0420", "history codes", "Replace nothing for U0140-00"} {
		i := strings.Index(got, want)
		if i < 0 {
			t.Fatalf("no %q in\n%s", want, got)
		}
		if i < at {
			t.Errorf("%q comes too early in\n%s", want, got)
		}
		at = i
	}
}

// A lost-communication code points at the module it names, never at the one that tells of it.
func TestTriage_LostCommunication(t *testing.T) {
	r := remembers(t, map[string][]string{"768": {"U0140-87 current"}, "77A": {"U0140-00 current"}})
	r.ECUs[0].Module = "brakes"
	got := words(triage(r))
	if !strings.Contains(got, "Look at what U0140 names (lost communication with the body module") || !strings.Contains(got, "not at brakes and 77A: there it is only told") {
		t.Error(got)
	}
	if strings.Count(got, "Look at what U0140") != 1 {
		t.Errorf("told more than once:\n%s", got)
	}
}

func TestTriage_FrontDamage(t *testing.T) {
	many := map[string][]string{"7E8": {"P0101 stored"}, "768": {"U0100-00 history", "U0121-00 history"}, "77A": {"U0140-00 history"}}
	list := triage(remembers(t, many))
	hint := false
	for _, a := range list {
		hint = hint || a.Hint && strings.Contains(a.Do, "front damage") && strings.Contains(a.Why, "not a finding")
	}
	if !hint {
		t.Errorf("no hint in\n%s", words(list))
	}
	few := map[string][]string{"7E8": {"P0101 stored"}, "768": {"U0100-00 history"}}
	if got := words(triage(remembers(t, few))); strings.Contains(got, "front") {
		t.Errorf("a hint on one history code:\n%s", got)
	}
	if got := words(triage(remembers(t, map[string][]string{"768": {"U0100-00 history", "U0121-00 history", "U0140-00 history"}}))); strings.Contains(got, "front") {
		t.Errorf("a hint without a code of the front:\n%s", got)
	}
}

func TestTriage_Quiet(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": nil})
	if got := triage(r); len(got) != 0 || got == nil {
		t.Errorf("%v", got)
	}
	km := 12.0
	r.ECUs[0].Cleared = &Cleared{KM: &km}
	if got := words(triage(r)); !strings.Contains(got, "cleared 12 km ago: little can be concluded") {
		t.Error(got)
	}
	km = 500
	if got := triage(r); len(got) != 0 {
		t.Error(words(got))
	}
	r.Volts = 15.6
	if got := words(triage(r)); !strings.Contains(got, "15.6 V") {
		t.Error(got)
	}
}

// One single count is told as what it is.
func TestTriage_MisfireCounts(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": nil})
	r.ECUs[0].Tests = []TestResult{
		{Monitor: "misfire, cylinder 1", ID: "A2/0C", Value: 0}, {Monitor: "misfire, cylinder 3", ID: "A4/0C", Value: 1}, {Monitor: "misfire, cylinder 3", ID: "A4/0B", Value: 2},
	}
	if got := words(triage(r)); !strings.Contains(got, "misfire, cylinder 3 1,") && !strings.Contains(got, "one single count is no evidence") {
		t.Error(got)
	}
}

// Every line has its source.
func TestTriage_Sources(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": {"P0304 stored", "P0741 stored", "P0101 stored", "P0420 permanent", "P0562 stored", "P0700 stored"},
		"768": {"U0100-00 history", "U0121-00 history", "U0140-00 history", "U0155-00 current", "C0035-00 pending"}})
	r.Modules = []Asked{{Name: "730"}, {Name: "740", Unreachable: true}}
	list := triage(r)
	if len(list) < 9 {
		t.Errorf("only %d lines:\n%s", len(list), words(list))
	}
	for _, a := range list {
		if strings.Contains(a.Do, "740") {
			t.Errorf("%s: nobody asked there", a.Do)
		}
		if a.Do == "" || a.Why == "" || a.Source == "" {
			t.Errorf("%+v", a)
		}
	}
}

// A computer that counts more stored codes than it told has lost some on the way: a lost
// reply looks like an empty list on the older buses.
func TestCountStored(t *testing.T) {
	for _, c := range []struct {
		codes   []string
		counted int
		whole   bool
	}{
		{nil, 0, true}, {nil, 1, false}, {[]string{"P0304 stored", "P0302 pending"}, 1, true}, {[]string{"P0304 stored", "P0302 pending"}, 2, false},
		{[]string{"P0304 stored", "P0741 stored"}, 1, true}, // the count may be of those that light the lamp
	} {
		r := remembers(t, map[string][]string{"7E8": c.codes})
		e := &r.ECUs[0]
		e.CodesToldOf, e.Lists = c.counted, Lists{"stored": ListRead, "pending": ListRead, "permanent": NotSupported}
		(&reader{r: r}).countStored(e)
		if whole := e.Lists["stored"] == ListRead; whole != c.whole || whole != (len(e.Unread) == 0) {
			t.Errorf("%v, %d counted: %q, not read %q", c.codes, c.counted, e.Lists["stored"], e.Unread)
		}
		if advice := words(triage(r)); strings.Contains(advice, "Read the codes again") == c.whole {
			t.Errorf("%v, %d counted:\n%s", c.codes, c.counted, advice)
		}
	}
}

// unclear is what the words for a status say of a computer whose availability mask lacks the bit for
// a failing test (ISO 14229-1: only bit 3 is mandatory).
const unclear = "this computer does not tell whether it fails now, stored"

// Of a code that may be of now or of long ago it is not said that its last test passed, nor that
// nothing is to be done about it.
func TestTriage_DoesNotTellWhether(t *testing.T) {
	r := remembers(t, map[string][]string{"768": {"U0140-87 history", "C0035-11 history", "P0301-00 history", "P0741-00 history"}, "77A": {"U0155-00 history", "C0040-00 current"}})
	for i := range r.ECUs[0].Codes {
		r.ECUs[0].Codes[i].Words = unclear
	}
	r.ECUs[1].Codes[0].Words = "its last test passed, stored"
	got := words(triage(r))
	for _, want := range []string{
		"history codes, and look whether they come back: U0155-00 |", "Replace nothing for U0155-00 |", "Look at what U0140 names", "and air codes before the converter: P0301-00",
		"what else is present: C0040-00 (77A), C0035-11 (768)", "clutch and what controls it: P0741-00",
		"Find out whether these are of now or of the past: U0140-87 (768), C0035-11 (768), P0301-00 (768), P0741-00 (768) | ", "does not tell whether",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
	r.ECUs[0].Codes = append(r.ECUs[0].Codes, Code{Code: "P0101", State: "stored"})
	for _, name := range []string{"U0121-00", "U0155-00"} {
		r.ECUs[0].Codes = append(r.ECUs[0].Codes, Code{Code: name, State: "history", Words: unclear})
	}
	if got := words(triage(r)); strings.Contains(got, "front damage") {
		t.Errorf("history was not told:\n%s", got)
	}
}

// The lamp of one computer does not come before the codes of another (order of the trade).
func TestTriage_LampOfAnother(t *testing.T) {
	on := true
	r := remembers(t, map[string][]string{"7E8": {"P0741 stored"}, "7E9": nil})
	r.ECUs[0].Lamp, r.ECUs[1].Lamp = &on, &on
	r.ECUs[1].Lists = Lists{"stored": ListRead, "pending": ListRead, "permanent": NotTold}
	list := triage(r)
	if len(list) != 2 || !strings.Contains(list[0].Do, "P0741") || !strings.Contains(list[1].Do, "7E9 told no stored code") {
		t.Error(words(list))
	}
}

// Fans make no engine misfire, P09xx is the transmission's, and P0710 to P0714 are one fault of the
// fluid's temperature (families of SAE J2012, from memory).
func TestTriage_Families(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": {"P0480 stored", "P0961 stored", "P0710 stored", "P0714 stored"}})
	got := words(triage(r))
	for _, want := range []string{"what else is present: P0480", "the transmission's codes: P0961", "Converter clutch and what controls it: P0710, P0714"} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
	if strings.Contains(got, "misfire") {
		t.Error(got)
	}
}

// A list that no computer tells is no empty list, however it was refused; what was never tested is
// no past; a freeze frame without its code is looked into.
func TestTriage_NothingToldIsNotNothing(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": nil, "7E9": nil})
	for i := range r.ECUs {
		r.ECUs[i].Lists = Lists{"stored": ListRead, "pending": "refused: not supported (11)", "permanent": "refused: not supported (11)"}
	}
	if got := words(triage(r)); !strings.Contains(got, "in another way") || !strings.Contains(got, "pending") {
		t.Errorf("no computer tells pending codes:\n%s", got)
	}
	r.ECUs[1].Lists["pending"] = ListRead
	if got := words(triage(r)); strings.Contains(got, "in another way") {
		t.Errorf("one computer tells pending codes, the other has none:\n%s", got)
	}
	r = remembers(t, map[string][]string{"768": {"P0741-00 untested"}})
	if got := words(triage(r)); strings.Contains(got, "past") {
		t.Errorf("never tested:\n%s", got)
	}
	r = remembers(t, map[string][]string{"7E8": {"P0741 stored"}})
	r.ECUs[0].Freezes = []Freeze{{Code: "P0301"}}
	if got := words(triage(r)); !strings.Contains(got, "Look for P0301: 7E8 keeps its freeze frame") {
		t.Errorf("a freeze frame of another code:\n%s", got)
	}
	r.ECUs = append(r.ECUs, ECU{ID: "7E9", Codes: []Code{{Code: "P0741-00", State: "current"}}, Freezes: []Freeze{{Code: "P0741-00"}}}) // SAE J1979-2
	r.ECUs[0].Freezes[0].Code = "P0741"
	if got := words(triage(r)); strings.Contains(got, "keeps its freeze frame") {
		t.Errorf("a freeze frame of the code told:\n%s", got)
	}
}

// The request to clear goes to all that are asked at 7E0 to 7E7 (ISO 15765-4), named by the user or
// not.
func TestWouldClear_Addressed(t *testing.T) {
	for id, addressed := range map[string]bool{"7EA": true, "768": false, "7F8": false, "18DAF128": true} {
		r := &Report{ECUs: []ECU{{ID: id, Module: "further", Codes: []Code{{Code: "C0035-11", State: "current"}}}}}
		lines, _ := r.WouldClear()
		if got := strings.Join(lines, "\n"); strings.Contains(got, "not addressed") == addressed || !strings.Contains(got, "may stay or go: C0035-11") {
			t.Errorf("%s: %s", id, got)
		}
	}
}

// A stored code for which a lamp is asked is of now, though its last test passed; brake switch and
// speed sensors belong to what controls the clutch.
func TestTriage_LampAskedAndControls(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": {"P0301 stored", "P0301-00 history"}})
	r.ECUs[0].Codes[1].Words = "its last test passed, stored"
	if got := words(triage(r)); strings.Contains(got, "Do not judge shudder today") {
		t.Errorf("passed:\n%s", got)
	}
	r.ECUs[0].Codes[1].Words += ", " + lampAsked
	if got := words(triage(r)); !strings.Contains(got, "Do not judge shudder today") {
		t.Errorf("a lamp is asked:\n%s", got)
	}
	for _, code := range []string{"P0571", "P0703", "P0719", "P0724", "P0500", "P0723"} {
		if got := words(triage(remembers(t, map[string][]string{"7E8": {code + " stored"}}))); !strings.Contains(got, "what controls it: "+code) {
			t.Errorf("%s:\n%s", code, got)
		}
	}
}

// Clearing names codes of a further computer that nobody has seen; a gearbox computer that is
// silent to service 06 has no results to lose.
func TestWouldClear_Unseen(t *testing.T) {
	r := &Report{ECUs: []ECU{{ID: "768", Module: "brakes", Lists: Lists{byStatus: "damaged"}}}}
	if lines, _ := r.WouldClear(); !strings.Contains(strings.Join(lines, "\n"), "codes of brakes, a further computer, which could not be read") {
		t.Errorf("%q", lines)
	}
	for name, want := range map[string]string{"components": ListRead, "misfire": "test results, map 00: " + noMap} {
		c := &reader{r: &Report{ECUs: []ECU{{ID: "7E9", Readiness: []Monitor{{name, true}}}}}, lostMaps: map[string]string{"7E9": "test results, map 00: " + noMap}}
		if c.testState(""); c.r.ECUs[0].TestState != want {
			t.Errorf("%s: %q", name, c.r.ECUs[0].TestState)
		}
	}
}

// Where a car counts no distance since clearing, the time that it ran tells how little can be
// concluded.
func TestTriage_ClearedMinutesAgo(t *testing.T) {
	for minutes, want := range map[float64]bool{3: true, 600: false} {
		r := remembers(t, map[string][]string{"7E8": nil})
		r.ECUs[0].Cleared = &Cleared{Minutes: &minutes}
		if got := words(triage(r)); strings.Contains(got, "3 min of running ago") != want {
			t.Errorf("%g min: %s", minutes, got)
		}
	}
}
