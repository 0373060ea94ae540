package triage

import (
	"slices"
	"strings"
	"testing"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/pids/dtc"
)

// remembers makes a report: ECU → codes as "P0741 stored". A code of three bytes has the usual
// status of its state.
func remembers(t *testing.T, ecus map[string][]string) *check.Report {
	t.Helper()
	r := &check.Report{Volts: 12.6}
	for _, id := range []string{"7E8", "7E9", "768", "77A", "771"} {
		list, ok := ecus[id]
		if !ok {
			continue
		}
		e := r.ECU(id)
		for _, text := range list {
			name, state, _ := strings.Cut(text, " ")
			code, err := dtc.ParseCode(name)
			if err != nil {
				t.Fatal(err)
			}
			c := check.Code{Code: name}
			if err := c.State.UnmarshalText([]byte(state)); err != nil {
				t.Fatal(err)
			}
			c.Text, c.Source = code.Text()
			if bits, ok := usual[c.State]; ok && code.Three {
				c.Status = &dtc.Status{Bits: bits}
			}
			e.Codes = append(e.Codes, c)
		}
	}
	return r
}

// usual is a status of each state, every bit kept (ISO 14229-1).
var usual = map[dtc.State]dtc.Bits{
	dtc.Current: dtc.TestFailed | dtc.ConfirmedCode, dtc.Pending: dtc.PendingCode, dtc.History: dtc.ConfirmedCode, dtc.Untested: dtc.NotTestedSinceClear,
}

// unclear is a stored code of an ECU whose availability mask lacks the bit for a failing test
// (ISO 14229-1: only bit 3 is mandatory).
var unclear = &dtc.Status{Bits: dtc.ConfirmedCode, Unreported: dtc.TestFailed}

// found are the lines of a report as "rule codes|ECUs".
func found(r *check.Report) (out []string) {
	for _, a := range Of(r) {
		text := string(a.Rule)
		if a.Codes != nil {
			text += " " + strings.Join(a.Codes, ",")
		}
		if a.ECUs != nil {
			text += "|" + strings.Join(a.ECUs, ",")
		}
		out = append(out, text)
	}
	return out
}

func wants(t *testing.T, what string, r *check.Report, want ...string) {
	t.Helper()
	if got := found(r); !slices.Equal(got, want) {
		t.Errorf("%s: got\n  %s\nwant\n  %s", what, strings.Join(got, "\n  "), strings.Join(want, "\n  "))
	}
}

// The trade's order: supply, communication, engine, what else is present, transmission,
// converter, permanent, history. Orders and the rule on lost communication are published in
// service information; the rest is marked "common practice, no source".
func TestOf_Order(t *testing.T) {
	r := remembers(t, map[string][]string{
		"7E8": {"P0741 history", "P0304 current", "P0700 stored", "P0562 stored", "P0420 permanent"},
		"7E9": {"P0733 current", "P0744 current"},
		"768": {"U0100-87 current", "C0035-11 current", "U0140-00 history"},
	})
	r.Volts = 11.2
	wants(t, "all", r, "battery", "lost-answers U0100|768", "misfire P0304|7E8", "present C0035-11,P0562|768,7E8", "transmission P0700,P0733|7E8,7E9",
		"lock-up-clutch P0744|7E9", "lock-up-clutch-past P0741|7E8", "permanent P0420|7E8", "history P0741,U0140-00|7E8,768", "lost-past U0140-00|768")
	r.Volts = 12.6
	if got := found(r)[0]; got != "supply-codes P0562|7E8" {
		t.Errorf("the supply is good, its codes are not: %s", got)
	}
}

// Codes are worked on in the order current, stored, not tested, of unclear age, pending (ISO
// 14229-1).
func TestOf_PresentOrder(t *testing.T) {
	r := remembers(t, map[string][]string{"768": {"C0005-00 pending", "C0004-00 history", "C0003-00 untested", "C0002 stored", "C0001-00 current"}})
	r.ECUs[0].Codes[1].Status, r.ECUs[0].Codes[2].Status = unclear, &dtc.Status{Bits: dtc.FailedThisCycle}
	if got := found(r)[0]; got != "present C0001-00,C0002,C0003-00,C0004-00,C0005-00|768" {
		t.Error(got)
	}
}

func TestOf_FrontDamage(t *testing.T) {
	old := []string{"U0100-00 history", "U0121-00 history", "U0140-00 history"}
	for _, c := range []struct {
		name string
		ecus map[string][]string
		want bool
	}{
		{"air flow and three", map[string][]string{"7E8": {"P0101 stored"}, "768": old}, true},
		{"shutter and three", map[string][]string{"7E8": {"P059F stored"}, "768": old}, true},
		{"last shutter and three", map[string][]string{"7E8": {"P05AA stored"}, "768": old}, true},
		{"two", map[string][]string{"7E8": {"P0101 stored"}, "768": old[:2]}, false},
		{"no code of the front", map[string][]string{"768": old}, false},
	} {
		list := Of(remembers(t, c.ecus))
		i := slices.IndexFunc(list, func(a check.Advice) bool { return a.Rule == RuleFront })
		if (i >= 0) != c.want || i >= 0 && !list[i].Hint {
			t.Errorf("%s: %+v", c.name, list)
		}
	}
}

func TestOf_Quiet(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": nil})
	if got := Of(r); len(got) != 0 || got == nil {
		t.Errorf("%v", got)
	}
}

// Codes cleared a short while ago: by distance, or where a car counts none by the time it ran.
func TestOf_ClearedLately(t *testing.T) {
	n := func(v float64) *float64 { return &v }
	for _, c := range []struct {
		name    string
		cleared check.Cleared
		want    string
	}{
		{"no distance", check.Cleared{KM: n(0)}, "less than 1 km"},
		{"one km", check.Cleared{KM: n(1)}, "1 km"},
		{"short", check.Cleared{KM: n(79)}, "79 km"},
		{"long", check.Cleared{KM: n(80)}, ""},
		{"time alone", check.Cleared{Minutes: n(59)}, "59 min of running"},
		{"long time alone", check.Cleared{Minutes: n(60)}, ""},
		{"far in a short time", check.Cleared{KM: n(80), Minutes: n(3)}, ""},
		{"nothing known", check.Cleared{}, ""},
	} {
		r := remembers(t, map[string][]string{"7E8": nil})
		r.ECUs[0].Cleared = &c.cleared
		if got := lately(&c.cleared); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		if got := found(r); (len(got) == 1 && got[0] == "cleared-lately|7E8") != (c.want != "") {
			t.Errorf("%s: %q", c.name, got)
		}
	}
}

// Self-tests that have not run are named where nobody knows how long ago codes were cleared, and
// where more are open than usual.
func TestOf_TestsOpen(t *testing.T) {
	n := func(v float64) *float64 { return &v }
	for _, c := range []struct {
		name    string
		open    int
		cleared *check.Cleared
		want    bool
	}{
		{"none", 0, nil, false}, {"one, nothing known", 1, nil, true}, {"usual", openUsual, &check.Cleared{KM: n(500)}, false},
		{"more, far", openUsual + 1, &check.Cleared{KM: n(500)}, true}, {"more, long ago", openUsual + 1, &check.Cleared{Minutes: n(4000)}, true},
		{"usual, long ago", openUsual, &check.Cleared{Minutes: n(4000)}, false},
	} {
		r := remembers(t, map[string][]string{"7E8": nil})
		e := &r.ECUs[0]
		e.Cleared, e.Readiness = c.cleared, []check.Monitor{{Name: "misfire", Complete: true}}
		for range c.open {
			e.Readiness = append(e.Readiness, check.Monitor{Name: "catalyst"})
		}
		if got := found(r); (len(got) == 1 && got[0] == "tests-open|7E8") != c.want {
			t.Errorf("%s: %q", c.name, got)
		}
	}
}

// The reason says whether the car reports how long ago codes were cleared: by distance, by time,
// or not at all.
func TestOf_TestsOpenWhy(t *testing.T) {
	n := func(v float64) *float64 { return &v }
	why := func(c *check.Cleared) string {
		r := remembers(t, map[string][]string{"7E8": nil})
		r.ECUs[0].Cleared, r.ECUs[0].Readiness = c, []check.Monitor{{Name: "a"}, {Name: "b"}, {Name: "c"}}
		return Of(r)[0].Why
	}
	nothing, warmUps, distance, minutes := why(nil), why(&check.Cleared{WarmUps: n(3)}), why(&check.Cleared{KM: n(500)}), why(&check.Cleared{Minutes: n(4000)})
	if nothing != warmUps || nothing == minutes || nothing == distance || distance == minutes {
		t.Errorf("%q, %q, %q, %q", nothing, warmUps, distance, minutes)
	}
}

// Only counts of this or the last drive cycle are compared, and only those that are not zero.
func TestOf_MisfireCounts(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": nil})
	count := func(monitor, test byte, n float64) check.TestResult {
		return check.TestResult{ID: check.TestID{Monitor: monitor, Test: test}, Value: n, Outcome: check.Passed}
	}
	for _, c := range []struct {
		name string
		test check.TestResult
		want bool
	}{
		{"cylinder 3", count(0xA4, 0x0C, 1), true}, {"cylinder 12", count(0xAD, 0x0C, 1), true}, {"none", count(0xA4, 0x0C, 0), false},
		{"average", count(0xA4, 0x0B, 7), false}, {"all cylinders", count(0xA1, 0x0C, 7), false}, {"behind them", count(0xAE, 0x0C, 7), false},
		{"of the maker", check.TestResult{ID: check.TestID{Monitor: 0xA4, Test: 0x0C}, Value: 7, Outcome: check.NotJudged}, false},
	} {
		r.ECUs[0].Tests = []check.TestResult{c.test}
		if got := found(r); (len(got) == 1 && got[0] == "misfire-counts|7E8") != c.want {
			t.Errorf("%s: %q", c.name, got)
		}
	}
}

// Every rule has words for all its places, and a source.
func TestRows(t *testing.T) {
	r := remembers(t, map[string][]string{
		"7E8": {"P0304 stored", "P0741 stored", "P0101 stored", "P0420 permanent", "P0562 stored", "P0700 stored"},
		"768": {"U0100-00 history", "U0121-00 history", "U0140-00 history", "U0155-00 current", "C0035-00 pending"},
	})
	r.Modules = []check.Asked{{Name: "730"}, {Name: "740", Unreachable: true}}
	list := Of(r)
	if len(list) < 9 {
		t.Errorf("only %d lines: %q", len(list), found(r))
	}
	for _, a := range list {
		if strings.Contains(a.Do, "740") {
			t.Errorf("%s: nobody asked there", a.Do)
		}
		if a.Do == "" || a.Why == "" || a.Source == "" || strings.ContainsAny(a.Do+a.Why, "{}") {
			t.Errorf("%+v", a)
		}
	}
	for rule, row := range rows {
		if row.do == "" || row.why == "" || row.source == "" || rule == "" {
			t.Errorf("%s: %+v", rule, row)
		}
	}
}

// Of a code that may be of now or of long ago nobody says that its last test passed, nor that
// nothing is to be done about it.
func TestOf_Unclear(t *testing.T) {
	r := remembers(t, map[string][]string{"768": {"U0140-87 history", "C0035-11 history", "P0301-00 history", "P0741-00 history"}, "77A": {"U0155-00 history", "C0040-00 current"}})
	for i := range r.ECUs[0].Codes {
		r.ECUs[0].Codes[i].Status = unclear
	}
	wants(t, "of unclear age", r, "lost U0140|768", "misfire P0301-00|768", "present C0040-00,C0035-11|77A,768", "lock-up-clutch P0741-00|768",
		"history U0155-00|77A", "lost-past U0155-00|77A", "unclear U0140-87,C0035-11,P0301-00,P0741-00|768")
	r.ECUs[0].Codes = append(r.ECUs[0].Codes, check.Code{Code: "P0101", State: dtc.Stored})
	for _, name := range []string{"U0121-00", "U0155-00"} {
		r.ECUs[0].Codes = append(r.ECUs[0].Codes, check.Code{Code: name, State: dtc.History, Status: unclear})
	}
	if got := found(r); slices.ContainsFunc(got, func(s string) bool { return strings.HasPrefix(s, string(RuleFront)) }) {
		t.Errorf("history was not reported: %q", got)
	}
}

// Never tested is no past; but what failed since this start, or has no meaningful status, may be
// of now (ISO 14229-1).
func TestOf_Untested(t *testing.T) {
	for _, c := range []struct {
		name   string
		status dtc.Status
		want   []string
	}{
		{"never tested", dtc.Status{Bits: dtc.NotTestedSinceClear}, nil},
		{"failed since this start", dtc.Status{Bits: dtc.FailedThisCycle}, []string{"lock-up-clutch P0741-00|768"}},
		{"no meaningful bit", dtc.Status{Unreported: 0xFF}, []string{"lock-up-clutch P0741-00|768"}},
	} {
		r := remembers(t, map[string][]string{"768": {"P0741-00 untested"}})
		r.ECUs[0].Codes[0].Status = &c.status
		wants(t, c.name, r, c.want...)
	}
}

// Fans make no engine misfire, P09xx is the transmission's, and P0710 to P0714 are one fault of
// the fluid's temperature (families of SAE J2012, from memory).
func TestFamilies(t *testing.T) {
	for _, c := range []struct{ code, want string }{
		{"P0480", "present"}, {"P0961", "transmission"}, {"P0710", "lock-up-clutch"}, {"P0714", "lock-up-clutch"},
		{"P0571", "lock-up-clutch"}, {"P0703", "lock-up-clutch"}, {"P0719", "lock-up-clutch"}, {"P0724", "lock-up-clutch"}, {"P0500", "lock-up-clutch"}, {"P0503", "lock-up-clutch"},
		{"P0723", "lock-up-clutch"}, {"P0740", "lock-up-clutch"}, {"P0744", "lock-up-clutch"}, {"P0745", "transmission"}, {"P2756", "lock-up-clutch"}, {"P2770", "lock-up-clutch"},
		{"P0218", "lock-up-clutch"}, {"P0504", "present"}, {"P0709", "transmission"}, {"P2755", "transmission"}, {"P2771", "transmission"},
		{"P0300", "misfire"}, {"P031F", "misfire"}, {"P0320", "present"}, {"P0363", "misfire"}, {"P0350", "misfire"}, {"P0100", "engine"}, {"P02FF", "engine"}, {"P00FF", "present"},
		{"P0171", "engine"}, {"P0401", "engine"}, {"P0420", "present"}, {"P0442", "present"}, {"P0441", "engine"}, {"P0455", "present"}, {"P2195", "engine"}, {"P0010", "engine"}, {"P000F", "present"},
		{"U0001", "bus-off"}, {"U0029", "bus-off"}, {"U002A", "present"}, {"U0073", "bus-off"}, {"U0079", "bus-off"}, {"U0100", "lost"}, {"U02FF", "lost"}, {"U0300", "present"},
		{"U0100-88", "bus-off"}, {"U0100-87", "lost"}, {"B0001-88", "present"}, {"U1234-88", "bus-off"},
		{"P0560", "supply-codes"}, {"P0563", "supply-codes"}, {"P0620", "supply-codes"}, {"P0564", "present"},
	} {
		state := " stored"
		if strings.Contains(c.code, "-") {
			state = " current"
		}
		list := Of(remembers(t, map[string][]string{"771": {c.code + state}}))
		if len(list) == 0 || string(list[0].Rule) != c.want {
			t.Errorf("%s: %+v, want %s", c.code, list, c.want)
		}
	}
	if got := Of(remembers(t, map[string][]string{"7E8": {"P0700 stored", "P0730 stored"}})); !strings.Contains(got[0].Why, "P0700") {
		t.Errorf("%+v", got)
	}
}

// A list that no ECU reports is no empty list, however it was refused.
func TestOf_RefusedByAll(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": nil, "7E9": nil})
	for i := range r.ECUs {
		r.ECUs[i].Lists = check.Lists{check.ListStored: check.Of(check.Read), check.ListPending: check.RefusedWith(0x11), check.ListPermanent: check.RefusedWith(0x11)}
	}
	wants(t, "no ECU reports pending codes", r, "refused|7E8", "refused|7E9")
	r.ECUs[1].Lists[check.ListPending] = check.Of(check.Read)
	wants(t, "one does, the other has none", r)
	r.ECUs[0].CodesCounted = 2
	wants(t, "but it counts codes", r, "refused|7E8")
}

// What follows from a refusal: ask again, another adapter, another way (ISO 14229-1).
func TestOf_Refusals(t *testing.T) {
	for code, want := range map[byte]string{
		0x21: "read-again", 0x22: "read-again", 0x24: "read-again", 0x70: "read-again", 0x73: "read-again", 0x81: "read-again", 0x93: "read-again",
		0x10: "refused", 0x33: "refused", 0x72: "refused", 0x7E: "refused", 0x80: "refused", 0x94: "refused", 0x8E: "refused", 0x13: "refused-length",
	} {
		r := remembers(t, map[string][]string{"7E8": nil})
		r.ECUs[0].Lists = check.Lists{check.ListStored: check.RefusedWith(code), check.ListPending: check.Of(check.Read), check.ListPermanent: check.Of(check.MaybeNotKept)}
		if got := found(r); !slices.Equal(got, []string{want + "|7E8"}) {
			t.Errorf("%02X: %q, want %s", code, got, want)
		}
	}
}

// A freeze frame is stored with its code; a frame without one is looked into.
func TestOf_FreezeAlone(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": {"P0741 stored"}, "7E9": {"P0301 stored"}})
	r.ECUs[0].Freezes = []check.Freeze{{Code: "P0301"}}
	if got := found(r); !slices.Contains(got, "freeze-without-code P0301|7E8") {
		t.Errorf("a freeze frame of another's code: %q", got)
	}
	r.ECUs[0].Freezes[0].Code = "P0741"
	r.ECUs[1].Codes, r.ECUs[1].Freezes = []check.Code{{Code: "P0741-00", State: dtc.Current}}, []check.Freeze{{Code: "P0741-00"}, {Code: "P0741"}} // SAE J1979-2
	if got := found(r); slices.ContainsFunc(got, func(s string) bool { return strings.HasPrefix(s, string(RuleFreezeAlone)) }) {
		t.Errorf("freeze frames of codes that are there: %q", got)
	}
}

// A stored code for which a lamp is asked is of now, though its last test passed.
func TestOf_LampAsked(t *testing.T) {
	for _, c := range []struct {
		name string
		bits dtc.Bits
		want bool
	}{
		{"passed", dtc.ConfirmedCode, false}, {"a lamp is asked", dtc.ConfirmedCode | dtc.LampRequested, true}, {"failed since this start", dtc.ConfirmedCode | dtc.FailedThisCycle, true},
	} {
		r := remembers(t, map[string][]string{"7E8": {"P0301 stored", "P0301-00 history"}})
		r.ECUs[0].Codes[1].Status.Bits = c.bits
		if got := slices.Contains(found(r), "misfire P0301|7E8"); got != c.want {
			t.Errorf("%s: %q", c.name, found(r))
		}
	}
}

// A converter code of the past is not reported as work to do now.
func TestOf_ConverterPast(t *testing.T) {
	r := remembers(t, map[string][]string{"7E9": {"P0741-00 history"}})
	wants(t, "past", r, "lock-up-clutch-past P0741-00|7E9", "history P0741-00|7E9")
	r.ECUs[0].Codes[0].Status = unclear
	wants(t, "of unclear age", r, "lock-up-clutch P0741-00|7E9", "unclear P0741-00|7E9")
	r = remembers(t, map[string][]string{"7E9": {"P0741-00 history"}, "7E8": {"P0741 stored"}})
	wants(t, "past and now", r, "lock-up-clutch P0741|7E8", "history P0741-00|7E9")
	wants(t, "permanent alone", remembers(t, map[string][]string{"7E8": {"P0741 permanent"}}), "permanent P0741|7E8")
}

// The same voltage means another thing with the engine running.
func TestOf_Volts(t *testing.T) {
	running, still := 750.0, 0.0
	for _, c := range []struct {
		volts float64
		rpm   *float64
		want  []string
	}{
		{12.2, &running, []string{"charging"}}, {12.2, &still, []string{"battery"}}, {12.2, nil, []string{"battery"}}, {11.5, &running, []string{"charging"}},
		{12.3, &still, nil}, {12.6, &still, nil}, {12.6, &running, []string{"charging"}}, {13, &running, nil}, {14.2, &running, nil}, {15.2, &running, nil},
		{15.6, &running, []string{"overvoltage"}}, {15.6, &still, []string{"overvoltage"}}, {0, &running, nil}, {0, &still, nil},
	} {
		r := remembers(t, map[string][]string{"7E8": nil})
		r.Volts, r.EngineRPM = c.volts, c.rpm
		if got := found(r); !slices.Equal(got, c.want) {
			t.Errorf("%.1f V: %q, want %q", c.volts, got, c.want)
		}
	}
}

// A lamp that nothing explains, and one whose codes were refused. The lamp of one ECU does not
// come before the codes of another (order of the trade).
func TestOf_Lamp(t *testing.T) {
	on := true
	silent := check.Of(check.MaybeNotKept)
	for _, c := range []struct {
		name   string
		stored check.Outcome
		codes  []string
		want   []string
	}{
		{"nothing explains it", check.Of(check.Read), nil, []string{"lamp|7E8"}},
		{"a pending code does not", check.Of(check.Read), []string{"B0001 pending"}, []string{"present B0001|7E8", "lamp|7E8"}},
		{"a stored code does", check.Of(check.Read), []string{"B0001 stored"}, []string{"present B0001|7E8"}},
		{"refused for good", check.RefusedWith(0x11), nil, []string{"refused|7E8"}},
		{"refused for now", check.RefusedWith(0x21), nil, []string{"read-again|7E8"}},
		{"silent", check.Of(check.SilentNotNone), nil, []string{"read-again|7E8"}},
	} {
		r := remembers(t, map[string][]string{"7E8": c.codes})
		r.ECUs[0].Lamp = &on
		r.ECUs[0].Lists = check.Lists{check.ListStored: c.stored, check.ListPending: check.Of(check.Read), check.ListPermanent: silent}
		wants(t, c.name, r, c.want...)
	}
	r := remembers(t, map[string][]string{"7E8": {"P0741 stored"}, "7E9": nil})
	r.ECUs[0].Lamp, r.ECUs[1].Lamp = &on, &on
	r.ECUs[1].Lists = check.Lists{check.ListStored: check.Of(check.Read), check.ListPending: check.Of(check.Read), check.ListPermanent: silent}
	wants(t, "of another", r, "lock-up-clutch P0741|7E8", "lamp|7E9")
}

// An interrupted check is made again, whatever it found; an adapter that hides who answers, and
// a module that is silent, are named.
func TestOf_Reading(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": nil})
	r.BrokeOff = &check.Note{Item: check.Item{Kind: check.StepCodes}, Outcome: check.Of(check.Interrupted)}
	r.ECUs[0].Lists = check.Lists{check.ListStored: check.Of(check.BrokenOff)}
	r.Nameless = true
	r.Modules = []check.Asked{{Name: "730"}, {Name: "740", Unreachable: true}, {Name: "760", Answered: true}}
	wants(t, "all", r, "check-again", "no-names", "silent")
	r.BrokeOff, r.Nameless, r.Modules = nil, false, r.Modules[1:]
	wants(t, "the list was not asked", r, "read-again|7E8")
}

// A result of service 06 outside its limits is looked into.
func TestOf_FailedTest(t *testing.T) {
	r := remembers(t, map[string][]string{"7E8": nil})
	r.ECUs[0].Tests = []check.TestResult{{Outcome: check.Passed}, {Outcome: check.Unknown}, {Outcome: check.NotRun}}
	wants(t, "passed", r)
	r.ECUs[0].Tests[1].Outcome = check.Failed
	wants(t, "failed", r, "failed-test|7E8")
}
