package simcar

import (
	"strings"
	"testing"
)

// Display forms of the ELM327 data sheet (p.42, p.45) and of its CAN sister chip.
func TestSettings_Display(t *testing.T) {
	bubble(t, fixed(known()), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"010C", "41 0C 1A F8"},
			{"AT H1", "OK"},
			{"010C", "7E8 04 41 0C 1A F8 AA AA AA"},
			{"AT D1", "OK"},
			{"010C", "7E8 8 04 41 0C 1A F8 AA AA AA"},
			{"AT D0", "OK"},
			{"at h0", "OK"},
			{"AT CAF0", "OK"},
			{"02 01 0C", "04 41 0C 1A F8 AA AA AA"},
			{"01 0C", "NO DATA"}, // no length byte: not a frame that an ECU takes
			{"AT CAF1", "OK"},
			{"AT H2", "?"},
			{"AT CFC0", "OK"},
			{"0902", "014 / 0: 49 02 01 30 54 45"}, // nobody asks for the rest
			{"AT D", "OK"},
			{"AT I", "AT I / ELM327 v2.2"},
		}.run(t, h)
	})
}

func TestSettings_LinefeedsAndEcho(t *testing.T) {
	bubble(t, fixed(known()), func(t *testing.T, h *host) {
		for _, step := range []struct{ command, want string }{
			{"ATSP6", "ATSP6\rOK\r\r>"},
			{"ATL1", "ATL1\rOK\r\n\r\n>"},
			{"010C", "010C\r\n41 0C 1A F8 \r\n\r\n>"},
			{"ATE0", "ATE0\r\nOK\r\n\r\n>"},
			{"ATS0", "OK\r\n\r\n>"},
			{"010C", "410C1AF8\r\n\r\n>"},
			{"ATL0", "OK\r\r>"},
			{"0902", "014\r0:490201305445\r1:5354313141304B\r2:30303030303032\r\r>"},
		} {
			if got := h.ask(step.command); got != step.want {
				t.Errorf("%s: got %q, want %q", step.command, got, step.want)
			}
		}
	})
}

func TestSettings_FiltersAndHeaders(t *testing.T) {
	two := func() *Sim {
		e, g := EngineECU(), TransmissionECU()
		e.Jitter, g.Jitter, g.Refresh = 0, 0, 0
		return New(Steady(known()), WithECUs(e, g))
	}
	bubble(t, two, func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"ATH1", "OK"},
			{"010D", "7E8 03 41 0D 64 AA AA AA AA / 7E9 03 41 0D 64 00 00 00 00"},
			{"010D1", "7E8 03 41 0D 64 AA AA AA AA"},
			{"010D2", "7E8 03 41 0D 64 AA AA AA AA / 7E9 03 41 0D 64 00 00 00 00"},
			{"010B", "7E8 03 41 0B 21 AA AA AA AA"},
			{"ATCRA7E9", "OK"},
			{"010D", "7E9 03 41 0D 64 00 00 00 00"},
			{"010B", "NO DATA"},
			{"ATCRA7EX", "OK"},
			{"010D", "7E8 03 41 0D 64 AA AA AA AA / 7E9 03 41 0D 64 00 00 00 00"},
			{"ATCRA", "OK"},
			{"ATSH7E1", "OK"},
			{"010D", "7E9 03 41 0D 64 00 00 00 00"},
			{"ATSH7E2", "OK"},
			{"010D", "NO DATA"},
			{"ATSH7E0", "OK"},
			{"ATFCSM1", "?"}, // before header and data
			{"ATFCSH7E1", "OK"},
			{"ATFCSD300000", "OK"},
			{"ATFCSM1", "OK"},
			{"0902", "7E8 10 14 49 02 01 30 54 45"}, // flow control went to the wrong ECU
			{"ATFCSH7E0", "OK"},
			{"0902", "7E8 10 14 49 02 01 30 54 45 / 7E8 21 53 54 31 31 41 30 4B / 7E8 22 30 30 30 30 30 30 32"},
			{"ATFCSD320000", "OK"}, // overflow: the ECU stops
			{"0902", "7E8 10 14 49 02 01 30 54 45"},
			{"ATCF7E9", "OK"},
			{"ATCM7FF", "OK"},
			{"ATSH7DF", "OK"},
			{"010D", "7E9 03 41 0D 64 00 00 00 00"},
		}.run(t, h)
	})
}

// 29-bit addressing of ISO 15765-4: priority and header make up the id.
func TestSettings_29Bit(t *testing.T) {
	bubble(t, func() *Sim {
		e, g := EngineECU(), TransmissionECU()
		e.Jitter, g.Jitter = 0, 0
		return New(Steady(known()), WithECUs(e, g), OnBus(CAN29at500))
	}, func(t *testing.T, h *host) {
		script{
			{"ATE0", "ATE0 / OK"}, {"ATSP7", "OK"}, {"ATH1", "OK"},
			{"010D2", "18 DA F1 10 03 41 0D 64 AA AA AA AA / 18 DA F1 18 03 41 0D 64 00 00 00 00"},
			{"ATSHDA18F1", "OK"},
			{"010D", "18 DA F1 18 03 41 0D 64 00 00 00 00"},
			{"ATCRA18DAF110", "OK"},
			{"010D", "NO DATA"},
			{"ATSH18DA10F1", "OK"},
			{"ATCP18", "OK"},
			{"0902", "18 DA F1 10 10 14 49 02 01 30 54 45 / 18 DA F1 10 21 53 54 31 31 41 30 4B / 18 DA F1 10 22 30 30 30 30 30 30 32"},
			{"ATCP10", "OK"}, // no ECU hears this priority
			{"010D", "NO DATA"},
		}.run(t, h)
	})
}

// Long replies of two ECUs interleave on the bus, as in the sister chip's data sheet p.39.
func TestSettings_TwoECUsInterleave(t *testing.T) {
	bubble(t, func() *Sim {
		e, g := EngineECU(), TransmissionECU()
		e.Jitter, g.Jitter = 0, 0
		g.Delay = e.Delay + 10
		return New(Steady(known()), WithECUs(e, g))
	}, func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{{"ATH1", "OK"}}.run(t, h)
		var ids []string
		for _, line := range strings.Split(h.lines("0904"), " / ") {
			ids = append(ids, line[:6])
		}
		if got, want := strings.Join(ids, ","), "7E8 10,7E9 10,7E8 21,7E9 21,7E8 22,7E9 22"; got != want {
			t.Errorf("got %s, want %s", got, want)
		}
	})
}

func TestProtocols(t *testing.T) {
	for _, row := range []struct {
		bus             Protocol
		name, number    string
		rpm, withHeader string
	}{
		{CAN29at500, "ISO 15765-4 (CAN 29/500)", "A7", "41 0C 1A F8", "18 DA F1 10 04 41 0C 1A F8 AA AA AA"},
		{CAN11at250, "ISO 15765-4 (CAN 11/250)", "A8", "41 0C 1A F8", "7E8 04 41 0C 1A F8 AA AA AA"},
		{CAN29at250, "ISO 15765-4 (CAN 29/250)", "A9", "41 0C 1A F8", "18 DA F1 10 04 41 0C 1A F8 AA AA AA"},
		{J1850VPW, "SAE J1850 VPW", "A2", "41 0C 1A F8", "48 6B 10 41 0C 1A F8 B2"},
		{J1850PWM, "SAE J1850 PWM", "A1", "41 0C 1A F8", "41 6B 10 41 0C 1A F8 3D"},
		{ISO9141, "ISO 9141-2", "A3", "41 0C 1A F8", "48 6B 10 41 0C 1A F8 22"},
		{KWPSlow, "ISO 14230-4 (KWP 5BAUD)", "A4", "41 0C 1A F8", "84 F1 10 41 0C 1A F8 E4"},
		{KWPFast, "ISO 14230-4 (KWP FAST)", "A5", "41 0C 1A F8", "84 F1 10 41 0C 1A F8 E4"},
	} {
		t.Run(row.name, func(t *testing.T) {
			bubble(t, fixed(known(), OnBus(row.bus)), func(t *testing.T, h *host) {
				script{
					{"ATE0", "ATE0 / OK"},
					{"010C", "SEARCHING... / " + row.rpm},
					{"ATDPN", row.number},
					{"ATDP", "AUTO, " + row.name},
					{"ATH1", "OK"},
					{"010C1", row.withHeader},
					{"ATZ", "ELM327 v2.2"},
					{"ATDPN", "ATDPN / " + row.number}, // remembered
				}.run(t, h)
			})
		})
	}
}

func TestProtocols_LegacyLimits(t *testing.T) {
	bubble(t, fixed(known(), OnBus(KWPFast)), func(t *testing.T, h *host) {
		script{
			{"ATE0", "ATE0 / OK"},
			{"ATSP5", "OK"},
			{"ATKW", "?"},
			{"010C", "BUS INIT: OK / 41 0C 1A F8"},
			{"ATKW", "1:8F 2:E9"},
			{"010C0D", "7F 01 13"}, // one PID at a time
			{"03", "43 00 00 00 00 00 00"},
			{"0A", "NO DATA"},
			{"ATSH8110F1", "OK"}, // to the engine alone
			{"0108", "7F 01 12"},
		}.run(t, h)
	})
}

func TestProtocols_WrongOne(t *testing.T) {
	for bus, steps := range map[Protocol]script{
		CAN11at500: {
			{"ATE0", "ATE0 / OK"},
			{"ATSP8", "OK"}, {"0100", "CAN ERROR"},
			{"ATSP7", "OK"}, {"0100", "NO DATA"},
			{"ATSP3", "OK"}, {"0100", "BUS INIT: ...ERROR"},
			{"ATSPA8", "OK"}, {"ATDPN", "A8"},
			{"010C", "SEARCHING... / 41 0C 1A F8"}, {"ATDPN", "A6"},
			{"ATPC", "OK"}, {"ATDPN", "A6"},
			{"ATTP8", "OK"}, {"ATDPN", "8"},
			{"ATZ", "ELM327 v2.2"}, {"ATDPN", "ATDPN / A6"}, // tried, not saved
			{"ATSPG", "ATSPG / ?"}, {"ATSPD", "ATSPD / ?"},
		},
		ISO9141: {
			{"ATE0", "ATE0 / OK"},
			{"ATSP6", "OK"}, {"0100", "CAN ERROR"},
			{"ATSP1", "OK"}, {"0100", "NO DATA"},
		},
	} {
		bubble(t, fixed(known(), OnBus(bus)), func(t *testing.T, h *host) { steps.run(t, h) })
	}
}

func TestIgnitionOff(t *testing.T) {
	c := known()
	c.Ignition = false
	bubble(t, fixed(c), func(t *testing.T, h *host) {
		script{
			{"ATE0", "ATE0 / OK"},
			{"0100", "SEARCHING... / UNABLE TO CONNECT"},
			{"ATSP6", "OK"},
			{"0100", "CAN ERROR"},
			{"ATIGN", "OFF"},
			{"ATRV", "14.2V"},
		}.run(t, h)
	})
}

// No two rows of the command table fit the same text equally well.
func TestCommands_Unambiguous(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range commands {
		for _, n := range c.lengths {
			key := c.name + strings.Repeat("_", n)
			if seen[key] {
				t.Errorf("AT %s with %d characters is in the table twice", c.name, n)
			}
			seen[key] = true
		}
	}
}
