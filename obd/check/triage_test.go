package check

import (
	"strings"
	"testing"

	"judder/pids"
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
			code, err := pids.ParseCode(name)
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
	for _, want := range []string{"11.2 V", "U0100", "P0304", "C0035-11", "P0733", "P0744", "permanent codes: P0420", "history codes", "Replace nothing for U0140-00", "Do not judge shudder today: P0304"} {
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
	if !strings.Contains(got, "Look at what U0140 names (lost communication with the body module") || !strings.Contains(got, "not at brakes, 77A, which only reports it") {
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
	r.NotAnswering = []string{"730"}
	list := triage(r)
	if len(list) < 9 {
		t.Errorf("only %d lines:\n%s", len(list), words(list))
	}
	for _, a := range list {
		if a.Do == "" || a.Why == "" || a.Source == "" {
			t.Errorf("%+v", a)
		}
	}
}

func TestCompare(t *testing.T) {
	before := remembers(t, map[string][]string{"7E8": {"P0741 stored", "P0741 pending", "P0304 stored"}, "768": {"U0100-00 history"}})
	after := remembers(t, map[string][]string{"7E8": {"P0741 stored", "P0420 stored"}})
	after.ECUs[0].Readiness = []Monitor{{"catalyst", false}, {"misfire", true}}
	c := Compare(before, after)
	got := ""
	for _, x := range c.Changes {
		got += x.ECU + " " + x.Code + " " + x.What + " " + x.Was + ">" + x.Is + " " + x.Other + "\n"
	}
	const want = `7E8 P0741 changed stored, pending>stored 
7E8 P0304 gone stored> 
768 U0100-00 not read history> this computer did not answer the second time
7E8 P0420 new >stored 
`
	if got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
	if !c.SameCar || len(c.Notes) != 1 || !strings.Contains(c.Notes[0], "1 self-tests have not run") {
		t.Errorf("%v %v", c.SameCar, c.Notes)
	}
	after.VIN = "other"
	if c := Compare(before, after); c.SameCar || !strings.Contains(c.Notes[0], "different cars") {
		t.Errorf("%+v", c)
	}
}
