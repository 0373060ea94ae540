package page

import (
	"slices"
	"strings"
	"testing"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/compare"
	"github.com/judder-obd/judder/check/losses"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/dtc"
)

func written(t *testing.T, write func(p *lines)) string {
	t.Helper()
	var b strings.Builder
	p := &lines{w: &b}
	if write(p); p.err != nil {
		t.Fatal(p.err)
	}
	return b.String()
}

// Values of a freeze frame are as fine as the parameter's steps (SAE J1979): fuel trim in
// 100/128 %, coolant in whole degrees, engine speed in quarters of a revolution, supply in mV.
func TestFreeze_Digits(t *testing.T) {
	f := check.Freeze{Code: "P0304"}
	for _, raw := range []struct {
		pid  byte
		data []byte
	}{{0x06, []byte{0x82}}, {0x07, []byte{0x80}}, {0x05, []byte{0x7B}}, {0x0C, []byte{0x1A, 0x4D}}, {0x42, []byte{0x37, 0x15}}, {0x1F, []byte{0x04, 0xD2}}} {
		f.Take(pids.Part{PID: pids.Lookup(raw.pid), Data: raw.data})
	}
	text := written(t, func(p *lines) { p.freeze(&f) })
	var got []string
	for _, l := range strings.Split(strings.TrimSpace(text), "\n")[1:] {
		got = append(got, strings.TrimSpace(l[min(len(l), 44):]))
	}
	if want := []string{"1.6 %", "0.0 %", "83 °C", "1683.2 rpm", "14.101 V", "1234 s"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// A check as a user sees it.
func TestWriteCheck(t *testing.T) {
	still, on, km := 0.0, true, 812.0
	read := check.Of(check.Read)
	r := &check.Report{EngineRPM: &still, Protocol: "ISO 15765-4 (CAN 11/500)", Volts: 12.6, VIN: "0TEST11A0K0******",
		Triage: []check.Advice{{Rule: "x", Do: "Do this", Why: "of that", Source: "a standard"}, {Rule: "y", Do: "Look there", Why: "it may be", Source: "practice", Hint: true}},
		Unread: []check.Note{{Item: check.Item{Kind: check.ItemModule, Name: "760"}, Outcome: check.Of(check.ModuleRefused)}},
		ECUs: []check.ECU{{
			ID: "7E8", Name: "ECM-EngineControl", Lamp: &on, CodesCounted: 1, FreezeState: read, Cleared: &check.Cleared{KM: &km},
			Codes: []check.Code{{Code: "P0304", State: dtc.Stored, Text: "misfire of cylinder 4"}, {Code: "P1234", State: dtc.Pending}},
			Lists: check.Lists{check.ListStored: read, check.ListPending: read, check.ListPermanent: check.Of(check.MaybeNotKept)},
		}, {ID: "7E9", Lists: check.Lists{check.ListStored: check.RefusedWith(0x11), check.ListPending: read, check.ListPermanent: check.Of(check.NotSupported)}, FreezeState: check.Of(check.Damaged)}},
	}
	const want = `code check of 0001-01-01 00:00
  VIN       0TEST11A0K0******
  bus       ISO 15765-4 (CAN 11/500)
  supply    12.6 V at the socket
  engine    off

what to do first, and why:
  1.   Do this
       because of that (a standard)
  hint Look there
       because it may be (practice)

7E8  ECM-EngineControl
  malfunction lamp commanded ON, stored codes counted: 1
  since codes were cleared: 812 km
  permanent codes: no answer; this control unit may keep no such list
  P0304     stored    misfire of cylinder 4
  P1234     pending   no text known; see the maker's information
  no freeze frame: P0304, P1234

7E9
  CODES NOT READ: stored
  no such list here: permanent
  FREEZE FRAME NOT READ: the reply was damaged

further modules (brakes, body, ...) were not asked; --module, --profile or --sweep names them
not read: module 760: not asked: this adapter refuses to ask one control unit by its address; use another adapter
`
	var b strings.Builder
	if err := WriteCheck(&b, r); err != nil || b.String() != want {
		t.Errorf("%v\n%s\nwant\n%s", err, b.String(), want)
	}
}

// Misfire counts are side by side; other results are counted, and those outside their limits
// named.
func TestTests(t *testing.T) {
	count := func(monitor, test byte, n float64) check.TestResult {
		return check.TestResult{ID: check.TestID{Monitor: monitor, Test: test}, Value: n, Max: 0xFFFF, Unit: "count", Outcome: check.Passed}
	}
	text := written(t, func(p *lines) {
		p.tests([]check.TestResult{count(0xA2, 0x0C, 0), count(0xA2, 0x0B, 3), count(0xA3, 0x0C, 41),
			{Monitor: "catalyst", Test: "a test", Value: 2, Max: 1, Unit: "V", Outcome: check.Failed}, {Outcome: check.Passed}, {Outcome: check.NotRun}})
	})
	const want = `    catalyst, a test: 2 V, limits 0 to 1, failed
  misfires this or the last drive cycle, in brackets the average of ten:
    cylinder 1: 0 (3)   cylinder 2: 41 (–)
    a single count is no evidence of a misfire (common practice, no source)
  test results: 1 passed, 1 failed, 1 not run since cleared, 0 unreadable
`
	if text != want {
		t.Errorf("%s\nwant\n%s", text, want)
	}
}

// A comparison as a user sees it; a change without text takes one line.
func TestWriteComparison(t *testing.T) {
	c := &compare.Comparison{SameCar: compare.CannotTell, Notes: []compare.Note{{Kind: compare.MaskedVIN}},
		Changes: []compare.Change{{ECU: "7E8", Name: "ECM", Code: "P0741", What: compare.Gone, Was: "stored", Text: "converter clutch"}, {ECU: "7E8", Code: "P0304", What: compare.New, Is: "pending"}},
		Others:  []compare.Change{{ECU: "7E8", Name: "ECM", Item: "malfunction lamp", What: compare.Changed, Was: "ON", Is: "off"}}}
	const want = `what changed between two code checks
  before    time not known    
  after     time not known    
  same car  not compared

7E8  ECM
  gone       P0741      stored → –
            converter clutch
  new        P0304      – → pending

what else changed:
7E8  ECM
  changed    malfunction lamp  ON → off

note: same car not compared: a number is hidden, and the rest of it fits (judder check --vin keeps it whole)
`
	var b strings.Builder
	if err := WriteComparison(&b, c); err != nil || b.String() != want {
		t.Errorf("%v\n%q\nwant\n%q", err, b.String(), want)
	}
}

// What clearing takes is a line each, with its fate in front; when nothing goes that is said.
func TestLosses(t *testing.T) {
	e := &check.ECU{ID: "7E8"}
	got := Losses([]losses.Loss{{Kind: losses.Codes, ECU: e, Code: "P0741", States: []dtc.State{dtc.Stored}}, {Fate: losses.Unseen, Kind: losses.FreezePart, ECU: e, Code: "P0741"}})
	if want := []string{"would be cleared: P0741 stored (7E8)", "would be cleared UNSEEN: part of the freeze frame of P0741 (7E8), which could not be read"}; !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
	if got := Losses(nil); len(got) != 1 {
		t.Errorf("%q", got)
	}
}
