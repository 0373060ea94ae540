package check

import (
	"slices"
	"strings"
	"testing"

	"judder/pids"
)

// Values of a freeze frame are told as finely as the parameter's steps are (SAE J1979): fuel trim in
// 100/128 %, coolant in whole degrees, engine speed in quarters of a revolution, supply in mV.
func TestFreeze_Digits(t *testing.T) {
	f := Freeze{Code: "P0304"}
	for _, raw := range []struct {
		pid  byte
		data []byte
	}{{0x06, []byte{0x82}}, {0x07, []byte{0x80}}, {0x05, []byte{0x7B}}, {0x0C, []byte{0x1A, 0x4D}}, {0x42, []byte{0x37, 0x15}}, {0x1F, []byte{0x04, 0xD2}}} {
		f.take(pids.Part{PID: pids.Lookup(raw.pid), Data: raw.data})
	}
	var b strings.Builder
	p := &page{w: &b}
	p.freeze(&f)
	var got []string
	for _, l := range strings.Split(strings.TrimSpace(b.String()), "\n")[1:] {
		got = append(got, strings.TrimSpace(l[min(len(l), 44):]))
	}
	if want := []string{"1.6 %", "0.0 %", "83 °C", "1683.2 rpm", "14.101 V", "1234 s"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// What a check says of the engine, and of codes without a freeze frame.
func TestWriteText_Engine(t *testing.T) {
	still := 0.0
	r := &Report{EngineRPM: &still, ECUs: []ECU{{ID: "7E8", Codes: []Code{{Code: "P0304", State: "stored"}}, FreezeState: ListRead}}}
	var b strings.Builder
	if err := r.WriteText(&b); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"  engine    off\n", "  no freeze frame: P0304\n"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %q in\n%s", want, b.String())
		}
	}
}

// A change that has no text takes one line, however long that is.
func TestComparison_NoEmptyLines(t *testing.T) {
	x := Change{What: "changed", Item: "calibration verification numbers", Was: "1234ABCD, 5678EF01", Is: "9ABC0123, 456789EF"}
	for text, lines := range map[string]int{"": 1, "another program": 2} {
		x.Text = text
		var b strings.Builder
		p := &page{w: &b}
		p.change(&x)
		if got := strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n"); len(got) != lines || slices.ContainsFunc(got, func(l string) bool { return strings.TrimSpace(l) == "" }) {
			t.Errorf("%q: %q", text, got)
		}
	}
}
