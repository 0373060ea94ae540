package simcar

import "testing"

func TestDialogue_SetUpAndRead(t *testing.T) {
	bubble(t, fixed(known()), func(t *testing.T, h *host) {
		if got, want := h.ask("ATZ"), "ATZ\r\r\rELM327 v2.2\r\r>"; got != want {
			t.Errorf("ATZ: got %q, want %q", got, want)
		}
		if got, want := h.ask("ATE0"), "ATE0\rOK\r\r>"; got != want {
			t.Errorf("ATE0: got %q, want %q", got, want)
		}
		script{
			{"ATL0", "OK"},
			{"AT DP", "AUTO"},
			{"0100", "SEARCHING... / 41 00 BE 3F B8 13"},
			{"ATDPN", "A6"},
			{"ATDP", "AUTO, ISO 15765-4 (CAN 11/500)"},
			{"01 0C", "41 0C 1A F8"}, // SAE J1979: 1726 rpm
			{"", "41 0C 1A F8"},
			{"ATS0", "OK"},
			{"010C1", "410C1AF8"},
			{"ATH1", "OK"},
			{"010C1", "7E804410C1AF8AAAAAA"},
			{"0108", "NO DATA"}, // not supported: functional requests are met with silence
			{"ATNONSENSE", "?"},
			{"01020304050607080", "?"}, // eight bytes and a digit
			{"ZZ", "?"},
			{"0", "?"},
		}.run(t, h)
	})
}
