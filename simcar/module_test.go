package simcar

import (
	"testing"
	"time"
)

// modulesWith is a Sim of an engine and three further modules, on a bus and an adapter.
func modulesWith(bus Protocol, change func(*Profile)) func() *Sim {
	return func() *Sim {
		p := Profiles[0]
		change(&p)
		return New(Steady(known()), WithECUs(EngineECU(), BrakesModule(), BodyModule(), ClusterModule()), OnBus(bus), WithProfile(p))
	}
}

// Further modules are asked by their own address only, and by three services. Their long
// replies need flow control to that address, which comes by itself for 7E8 to 7EF alone
// (ELM327 data sheet p.60; what a good chip does elsewhere is from memory).
func TestModules(t *testing.T) {
	bubble(t, modulesWith(CAN11at500, func(*Profile) {}), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"0902", "014 / 0: 49 02 01 30 54 45 / 1: 53 54 31 31 41 30 4B / 2: 30 30 30 30 30 30 32"}, // the engine alone
			{"ATSH760", "OK"}, {"3E00", "NO DATA"}, // the usual filter hides 768
			{"ATCRA768", "OK"}, {"3E00", "7E 00"},
			{"0100", "7F 01 11"}, {"03", "7F 03 11"}, {"04", "7F 04 11"}, {"0902", "7F 09 11"}, {"1003", "7F 10 11"}, {"14FFFFFF", "7F 14 11"},
			{"194233081E", "7F 19 12"}, {"195533", "7F 19 12"},
			{"19022F", "00B / 0: 59 02 FF C1 40 00"}, // no flow control
			{"ATFCSM1", "?"}, {"ATFCSH760", "OK"}, {"ATFCSM1", "?"}, {"ATFCSD300000", "OK"}, {"ATFCSM1", "OK"},
			{"19022F", "00B / 0: 59 02 FF C1 40 00 / 1: 28 40 35 11 2F 00 00"},
			{"ATSH710", "OK"}, {"ATCRA77A", "OK"}, {"3E00", "7E 00"},
			{"19022F", "00F / 0: 59 02 FF C1 00 87"}, // flow control goes to 760
			{"ATFCSH710", "OK"},
			{"19022F", "00F / 0: 59 02 FF C1 00 87 / 1: 28 C1 21 87 28 C1 55 / 2: 00 68 AA AA AA AA AA"},
			{"ATCRA", "OK"}, {"ATCF77A", "OK"}, {"ATCM7FF", "OK"}, {"3E00", "7E 00"}, // CF and CM do what CRA does
			{"ATSH720", "OK"}, {"ATCRA728", "OK"}, {"ATFCSH720", "OK"},
			{"1902FF", "00F / 0: 59 02 FF C1 21 87 / 1: 24 C4 01 81 2C C1 40 / 2: 00 50 55 55 55 55 55"},
			{"190204", "00B / 0: 59 02 FF C1 21 87 / 1: 24 C4 01 81 2C 55 55"}, // any bit of the mask
			{"190208", "59 02 FF C4 01 81 2C"},
			{"190200", "59 02 FF"},
			{"22F187", "010 / 0: 62 F1 87 53 49 4D / 1: 43 41 52 2D 49 50 43 / 2: 2D 30 31 55 55 55 55"},
			{"ATSH7DF", "OK"}, {"ATCRA", "OK"}, {"3E80", "NO DATA"},
		}.run(t, h)
	})
}

// An adapter whose automatic flow control goes 8 below any reply reads 768 without settings,
// and still not 77A.
func TestModules_FlowAnywhere(t *testing.T) {
	bubble(t, modulesWith(CAN11at500, func(p *Profile) { p.FlowAnywhere = true }), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"ATSH760", "OK"}, {"ATCRA768", "OK"},
			{"19022F", "00B / 0: 59 02 FF C1 40 00 / 1: 28 40 35 11 2F 00 00"},
			{"ATSH710", "OK"}, {"ATCRA77A", "OK"},
			{"19022F", "00F / 0: 59 02 FF C1 00 87"}, // flow control goes to 772, where nobody is
		}.run(t, h)
	})
}

// On 29 bits request and reply change places (ISO 15765-4: 18DAxxF1, 18DAF1xx), and flow
// control comes by itself. The functional request 18DB33F1 reaches the engine alone.
func TestModules_29Bit(t *testing.T) {
	bubble(t, modulesWith(CAN29at500, func(*Profile) {}), func(t *testing.T, h *host) {
		script{
			{"ATE0", "ATE0 / OK"}, {"ATSP7", "OK"}, {"ATH1", "OK"},
			{"010D", "18 DA F1 10 03 41 0D 64 AA AA AA AA"},
			{"ATCP18", "OK"}, {"ATSHDA28F1", "OK"}, {"ATCRA18DAF128", "OK"},
			{"19022F", "18 DA F1 28 10 0B 59 02 FF C1 40 00 / 18 DA F1 28 21 28 40 35 11 2F 00 00"},
			{"010D", "18 DA F1 28 03 7F 01 11 00 00 00 00"},
		}.run(t, h)
	})
}

// An own pair: the part number of 14 − 3 = 11 characters, request 710, reply 77A (settings:
// ELM327 data sheet p.60; the reply computed here by ISO 15765-2).
func TestModuleECU_PartNumber(t *testing.T) {
	bubble(t, func() *Sim {
		e := ModuleECU("seat", 0x710, 0x77A)
		e.Pad, e.DIDs[partNumber] = 0xAA, []byte("12345678901")
		return New(Steady(known()), WithECUs(e))
	}, func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"ATH1", "OK"}, {"ATSH710", "OK"}, {"ATCRA77A", "OK"}, {"ATFCSH710", "OK"}, {"ATFCSD300000", "OK"}, {"ATFCSM1", "OK"},
			{"22F187", "77A 10 0E 62 F1 87 31 32 33 / 77A 21 34 35 36 37 38 39 30 / 77A 22 31 AA AA AA AA AA AA"},
		}.run(t, h)
	})
}

func TestModuleECU_Addresses(t *testing.T) {
	for _, row := range []struct {
		request, reply      uint32
		at11, at29, replies uint32
	}{
		{0x28, 0, 0, 0x18DA28F1, 0x18DAF128},
		{0x18DA40F1, 0x18DAF140, 0, 0x18DA40F1, 0x18DAF140},
		{0x7B0, 0x530, 0x7B0, 0, 0x530}, // 280 lower, as some have it
	} {
		e := ModuleECU("x", row.request, row.reply)
		for id, extended := range map[uint32]bool{row.at11: false, row.at29: true} {
			if id == 0 {
				continue
			}
			if heard, functional := e.hears(id, extended); !heard || functional || e.replyID(extended) != row.replies {
				t.Errorf("%X: heard %v, functional %v, replies at %X", id, heard, functional, e.replyID(extended))
			}
		}
		for _, id := range []uint32{0, functional11, functional29, 0x18DA00F1, 0x7E0} {
			for _, extended := range []bool{false, true} {
				if heard, _ := e.hears(id, extended); heard {
					t.Errorf("%X hears %X", row.request, id)
				}
			}
		}
	}
	for _, bad := range [][2]uint32{{0, 0}, {0x760, 0x760}, {0x800, 0x808}, {0x18DA28F1, 0x18DAF129}, {0x28, 0x30}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%X: no panic", bad)
				}
			}()
			ModuleECU("x", bad[0], bad[1])
		}()
	}
}

// A further module is on CAN only: an older bus never reaches it.
func TestModules_NotOnOlderBuses(t *testing.T) {
	bubble(t, modulesWith(KWPFast, func(*Profile) {}), func(t *testing.T, h *host) {
		script{{"ATE0", "ATE0 / OK"}, {"ATSP5", "OK"}, {"010D", "BUS INIT: OK / 41 0D 64"}, {"ATSH8128F1", "OK"}, {"3E", "NO DATA"}}.run(t, h)
	})
}

// An answer of a further module is no reading, and a request to one is not heard by all.
func TestModules_Counted(t *testing.T) {
	sim := modulesWith(CAN11at500, func(*Profile) {})()
	h := dial(t, sim)
	quiet.run(t, h)
	for _, command := range []string{"ATSH760", "ATCRA768", "3E00", "22F190", "19022F", "14FFFFFF", "04"} {
		h.ask(command)
	}
	if sim.Asked(0x19) != 1 || sim.Asked(0x22) != 1 || sim.ClearAttempts() != 2 || sim.WriteAttempts() != 2 || len(sim.Given()) != 0 {
		t.Errorf("19: %d, 22: %d, clear: %d, write: %d, given %v", sim.Asked(0x19), sim.Asked(0x22), sim.ClearAttempts(), sim.WriteAttempts(), sim.Given())
	}
	if last := sim.Requests()[len(sim.Requests())-1]; last.Text != "04" || last.At > time.Minute {
		t.Errorf("%+v", last)
	}
}
