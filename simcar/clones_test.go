package simcar

import (
	"slices"
	"strings"
	"testing"
)

// with is a quick engine behind the adapter of that name.
func with(t *testing.T, name string) func() *Sim {
	t.Helper()
	p, ok := ProfileNamed(name)
	if !ok {
		t.Fatalf("no profile %q", name)
	}
	return engineWith(func(e *ECU) { e.Pad = 0 }, WithProfile(p))
}

func TestProfiles_Behaviour(t *testing.T) {
	for name, steps := range map[string]script{
		"v1.5": {
			{"ATI", "ELM327 v1.5"}, {"AT@2", "?"}, {"ATBRD23", "?"}, {"ATAT2", "OK"}, {"ATPP0CSV23", "?"},
			{"ATH1", "OK"}, {"010C", "7E8 04 41 0C 1A F8"}, // without padding
		},
		"v2.1": {
			{"ATI", "ELM327 v2.1"}, {"ATRV", "?"}, {"ATDPN", "?"},
			{"010C1", "009 / 0: 41 0C 1A F8 01 00 / 1: 07 E5 00"}, // the digit went out as PID 01…
			{"010C0D0B", "41 0C 1A F8 0D 64"},                     // …a third PID not at all…
			{"ATCRA7E9", "OK"}, {"010D", "41 0D 64"},              // …and the filter is a fib
		},
		"no-headers": {{"ATH1", "?"}, {"ATS0", "?"}, {"010C", "41 0C 1A F8"}},
		"bare-prompt": {
			{"0902", "0: 49 02 01 30 54 45 / 1: 53 54 31 31 41 30 4B / 2: 30 30 30 30 30 30 32"},
		},
		"small-buffer": {
			{"010C", "41 0C 1A F8"},
			{"0902", "014 / 0: 49 02 01 30 54 45 / 1: 53 54 31 31 41 3 / BUFFER FULL"},
			{"010C0D", "41 0C 1A F8"},
		},
	} {
		t.Run(name, func(t *testing.T) {
			bubble(t, with(t, name), func(t *testing.T, h *host) {
				script{{"ATE0", "ATE0 / OK"}, {"ATSP6", "OK"}}.run(t, h)
				steps.run(t, h)
			})
		})
	}
}

func TestProfiles_Talkative(t *testing.T) {
	bubble(t, with(t, "talkative"), func(t *testing.T, h *host) {
		h.ask("ATE0")
		h.read() // the second prompt
		h.ask("ATS0")
		h.read()
		h.ask("ATSP6")
		h.read()
		if got, want := h.ask("010C"), "010C\r41 0C 1A F8 \r\n\r>"; got != want {
			t.Errorf("got %q, want %q", got, want)
		}
		if got := h.read(); got != "\r>" {
			t.Errorf("second prompt: %q", got)
		}
	})
}

func TestProfiles_DigitCountsFrames(t *testing.T) {
	bubble(t, with(t, "v1.5"), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"09023", "014 / 0: 49 02 01 30 54 45 / 1: 53 54 31 31 41 30 4B / 2: 30 30 30 30 30 30 32"},
			{"09021", "014 / 0: 49 02 01 30 54 45"},
		}.run(t, h)
	})
	bubble(t, with(t, "genuine"), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"09021", "014 / 0: 49 02 01 30 54 45 / 1: 53 54 31 31 41 30 4B / 2: 30 30 30 30 30 30 32"},
		}.run(t, h)
	})
}

// What each limited adapter shows of a car with two ECUs: its own address brings one reply or
// both, the functional address set by hand both or none.
func TestLimitedProfiles_TwoECUs(t *testing.T) {
	for name, steps := range map[string]script{
		"no-headers":     {{"ATH1", "?"}, {"010C", both}, {"ATSH7E0", "OK"}, {"010C", engineAlone}},
		"claims-headers": {{"ATH1", "OK"}, {"010C", both}, {"ATSH7E0", "OK"}, {"010C", engineAlone}, {"ATSH7DF", "OK"}, {"010C", both}},
		"fixed-address":  {{"ATH1", "?"}, {"010C", both}, {"ATSH7E0", "OK"}, {"ATCRA7E8", "OK"}, {"010C", both}},
		"own-address-only": {
			{"010C", both}, {"ATSH7E0", "OK"}, {"010C", engineAlone}, {"ATSH7E1", "OK"}, {"010C", engineAlone},
			{"ATSH7DF", "OK"}, {"010C", "NO DATA"}, {"ATD", "OK"}, {"010C", "010C / " + both},
		},
	} {
		t.Run(name, func(t *testing.T) {
			p, ok := ProfileNamed(name)
			if !ok {
				t.Fatalf("no profile %q", name)
			}
			gearbox := TransmissionECU()
			gearbox.Pad, gearbox.Jitter = 0, 0
			two := func(s *Sim) { s.ecus = append(s.ecus, gearbox) }
			bubble(t, engineWith(func(e *ECU) { e.Pad = 0 }, WithProfile(p), two), func(t *testing.T, h *host) {
				script{{"ATE0", "ATE0 / OK"}, {"ATSP6", "OK"}}.run(t, h)
				steps.run(t, h)
			})
		})
	}
}

const (
	engineAlone = "41 0C 1A F8"
	both        = engineAlone + " / " + engineAlone
)

// On 29 bits the functional address is DB33F1.
func TestLimitedProfiles_OwnAddressOnly29(t *testing.T) {
	bubble(t, engineWith(func(e *ECU) { e.Pad = 0 }, WithProfile(Profile{FunctionalUnheard: true}), OnBus(CAN29at500)), func(t *testing.T, h *host) {
		script{
			{"ATE0", "ATE0 / OK"}, {"ATSP7", "OK"}, {"010C", engineAlone},
			{"ATSHDB33F1", "OK"}, {"010C", "NO DATA"}, {"ATSHDA10F1", "OK"}, {"010C", engineAlone},
		}.run(t, h)
	})
}

// Every name in a profile's lists is a command or a command with its argument.
func TestProfiles_NamesExist(t *testing.T) {
	for _, p := range slices.Concat(Profiles, LimitedProfiles) {
		for _, name := range append(append([]string{}, p.Missing...), p.Pretend...) {
			found := false
			for _, c := range commands {
				found = found || name == c.name || len(name) > len(c.name) && strings.HasPrefix(name, c.name)
			}
			if !found {
				t.Errorf("profile %s: no command AT %s", p.Name, name)
			}
		}
	}
}
