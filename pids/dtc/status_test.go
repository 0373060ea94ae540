package dtc

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
)

// The bits have the places of ISO 14229-1, as python-udsoncan reads them.
func TestBits(t *testing.T) {
	for bits, want := range map[Bits]Bits{
		TestFailed: 0x01, FailedThisCycle: 0x02, PendingCode: 0x04, ConfirmedCode: 0x08,
		NotTestedSinceClear: 0x10, FailedSinceClear: 0x20, NotTestedThisCycle: 0x40, LampRequested: 0x80,
	} {
		if bits != want {
			t.Errorf("%02X, want %02X", bits, want)
		}
	}
}

// What follows from a status, computed from the meaning of the bits in ISO 14229-1; with a mask,
// the bits that it lacks mean nothing.
func TestStatus_Facts(t *testing.T) {
	type facts struct {
		state                                        State
		passed, failed, lastPassed, unclear, current bool
	}
	for _, c := range []struct {
		bits, available Bits
		want            facts
	}{
		{0x00, 0xFF, facts{NoFault, true, false, false, false, false}},
		{0x2F, 0xFF, facts{Current, false, true, false, false, true}},
		{0x01, 0xFF, facts{Current, false, true, false, false, true}},
		{0x24, 0xFF, facts{Pending, true, true, false, false, true}},
		{0x2C, 0xFF, facts{Pending, true, true, false, false, true}},
		{0x28, 0xFF, facts{History, true, true, true, false, false}},
		{0xA8, 0xFF, facts{History, true, true, true, false, false}},
		{0x2A, 0xFF, facts{History, true, true, false, false, false}}, // failed since this start
		{0x08, 0x08, facts{History, false, true, false, true, true}},
		{0x08, 0x09, facts{History, true, true, true, false, false}},
		{0x22, 0xFF, facts{Untested, true, true, false, false, true}}, // failed since this start
		{0x20, 0xFF, facts{Untested, true, true, false, false, false}},
		{0x50, 0xFF, facts{Untested, true, false, false, false, false}},
		{0x40, 0xFF, facts{NoFault, true, false, false, false, false}},
		{0x20, 0x20, facts{Untested, false, true, false, false, true}}, // keeps no fault bit
		{0x00, 0xF2, facts{Untested, false, false, false, false, true}},
		{0x00, 0x04, facts{NoFault, false, false, false, false, false}}, // keeps one
		{0x00, 0x08, facts{NoFault, false, false, false, false, false}},
		{0x00, 0x01, facts{NoFault, true, false, false, false, false}},
	} {
		s := Status{Bits: c.bits, Unreported: ^c.available}
		if got := (facts{s.State(), s.Passed(), s.Failed(), s.LastTestPassed(), s.Unclear(), s.MayBeCurrent()}); got != c.want {
			t.Errorf("%02X of %02X: %+v, want %+v", c.bits, c.available, got, c.want)
		}
	}
}

func TestStatus_Reports(t *testing.T) {
	s := Status{Unreported: TestFailed | LampRequested}
	for bits, want := range map[Bits]bool{0: true, PendingCode: true, PendingCode | ConfirmedCode: true, TestFailed: false, PendingCode | LampRequested: false} {
		if s.Reports(bits) != want {
			t.Errorf("%02X: %v", bits, !want)
		}
	}
}

// The words are those of the program's JSON since its first release, so they stay.
func TestState_Text(t *testing.T) {
	for state, want := range map[State]string{NoFault: "", Stored: "stored", Pending: "pending", Permanent: "permanent", Current: "current", History: "history", Untested: "untested"} {
		text, err := json.Marshal(state)
		if err != nil || string(text) != `"`+want+`"` {
			t.Errorf("%d: %s, %v; want %q", state, text, err, want)
		}
		back := State(99)
		if err := json.Unmarshal(text, &back); err != nil || back != state {
			t.Errorf("%s reads back as %d, %v", text, back, err)
		}
	}
	if got := (Untested + 1).String(); got != "" {
		t.Errorf("%q", got)
	}
	kept := History
	if err := kept.UnmarshalText([]byte("stored ")); !errors.Is(err, ErrState) || kept != History {
		t.Errorf("%v, %v", kept, err)
	}
}

// Words for the statuses, computed from the bits of ISO 14229-1.
func TestStatus_Words(t *testing.T) {
	for status, want := range map[byte][]string{
		0x2F: {"fails now", "stored"}, 0xAF: {"fails now", "lamp"}, 0x24: {"failed lately", "not now"}, 0x2C: {"intermittent", "stored"},
		0x28: {"last test passed", "stored"}, 0x68: {"not tested again"}, 0x20: {"failed once since cleared"}, 0x50: {"unknown, not good"}, 0x00: {"tested, no fault"},
		0x27: {"fails now", "not stored yet"}, 0x64: {"not stored yet", "may still be there"}, 0x2E: {"intermittent"}, 0x6C: {"intermittent", "not tested again"},
		0xA8: {"last test passed", "lamp"}, 0x60: {"failed once since cleared", "not tested again"}, 0x40: {"not tested since this start"},
	} {
		words := Status{Bits: Bits(status)}.Words()
		if status&0x01 == 0 && strings.Contains(words, "fails now") || status&0x08 == 0 && strings.Contains(strings.ReplaceAll(words, "not stored", ""), "stored") {
			t.Errorf("%02X: %q says too much", status, words)
		}
		for _, w := range want {
			if !strings.Contains(words, w) {
				t.Errorf("%02X: %q, want %q in it", status, words, w)
			}
		}
	}
}

// Words as the first version wrote them, by status and unreported bits: files of that version
// hold nothing else about these bits.
func TestStatus_OlderWords(t *testing.T) {
	for _, c := range []struct {
		bits, unreported Bits
		want             string
	}{
		{0x08, 0xF7, "this computer does not tell whether it fails now, stored"},
		{0x2F, 0x00, "fails now, stored"},
		{0x22, 0x00, "failed since this start, not told as pending or stored, failed once since cleared, not stored"},
		{0x2F, 0xFF, "this computer says that no bit of its status means anything (availability mask 00)"},
		{0x20, 0xDF, "this computer keeps no bit that tells failing, pending or stored"},
		{0x00, 0xF7, "nothing that this computer keeps speaks for a fault"},
		{0x00, 0x00, "tested, no fault"},
	} {
		s := Status{Bits: c.bits, Unreported: c.unreported}
		if got := s.OlderWords(); got != c.want {
			t.Errorf("%02X of %02X: %q, want %q", c.bits, ^c.unreported, got, c.want)
		}
	}
}

// An ECU that keeps bit 3 alone does not know history from current, and a missing bit is no
// pass (ISO 14229-1: a bit that the mask lacks means nothing).
func TestStatus_Unreported(t *testing.T) {
	s := Status{Bits: 0x08, Unreported: 0xF7}
	if got := s.State(); got != History {
		t.Errorf("%v", got)
	}
	for _, wrong := range []string{"passed", "intermittent", "not stored"} {
		if words := s.Words(); strings.Contains(words, wrong) || !strings.Contains(words, "does not report") {
			t.Errorf("%q", words)
		}
	}
	if words := (Status{Bits: FailedSinceClear, Unreported: ^FailedSinceClear}).Words(); strings.Contains(words, "passed") || strings.Contains(words, "stored,") {
		t.Errorf("of an ECU that keeps no fault bit: %q", words)
	}
	s.Bits = 0
	if words := s.Words(); strings.Contains(words, "tested") {
		t.Errorf("%q", words)
	}
}
