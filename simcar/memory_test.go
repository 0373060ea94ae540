package simcar

import (
	"testing"
	"time"
)

// module6 is a Sim of one ECU asked at 7E0 that keeps these codes; it shows the layouts of
// ISO 14229-1 as computed by hand, some with the values of the standard's own examples (those
// from memory).
func module6(mask, format byte, codes ...StatusCode) func() *Sim {
	return func() *Sim {
		e := ModuleECU("example", 0x7E0, 0x7E8, codes...)
		e.StatusMask, e.CodeFormat, e.Delay = mask, format, 0
		return New(Steady(known()), WithECUs(e), Instant())
	}
}

// code is a code by its number.
func code(n uint16, failure, status byte) StatusCode {
	return StatusCode{Code: Code(n), FailureType: failure, Status: status}
}

// ask7E0 sets an adapter up for module6.
var ask7E0 = script{{"ATE0", "ATE0 / OK"}, {"ATSP6", "OK"}, {"ATSH7E0", "OK"}, {"ATH1", "OK"}}

func TestService19_Lists(t *testing.T) {
	for _, row := range []struct {
		name  string
		build func() *Sim
		steps script
	}{
		{"count, P0805 confirmed", module6(0x2F, 0x01, code(0x0805, 0x11, 0x2F)), script{
			{"190108", "7E8 06 59 01 2F 01 00 01 00"},
		}},
		{"list by mask 84, the standard's example", module6(0x7F, 0, code(0x0A9B, 0x17, 0x24), code(0x0805, 0x11, 0x2F), code(0x2522, 0x1F, 0x00)), script{
			{"190284", "7E8 10 0B 59 02 7F 0A 9B 17 / 7E8 21 24 08 05 11 2F 00 00"},
			{"190200", "7E8 03 59 02 7F 00 00 00 00"},
			{"190280", "7E8 03 59 02 7F 00 00 00 00"}, // a bit it does not keep matches nothing
		}},
		{"none stored", module6(0xFF, 0), script{{"190208", "7E8 03 59 02 FF 00 00 00 00"}, {"190A", "7E8 03 59 0A FF 00 00 00 00"}}},
		{"all supported, those that never failed too", module6(0x7F, 0, code(0x1234, 0x56, 0x24), code(0x2345, 0x05, 0x00), code(0xABCD, 0x01, 0x2F)), script{
			{"190A", "7E8 10 0F 59 0A 7F 12 34 56 / 7E8 21 24 23 45 05 00 AB CD / 7E8 22 01 2F 00 00 00 00 00"},
		}},
		{"codes of SAE J1939", module6(0xFF, 0x02, code(1, 2, 1), code(1, 3, 1), code(1, 4, 1)), script{
			{"1901FF", "7E8 06 59 01 FF 02 00 03 00"},
		}},
		{"about to fail", module6(0xFF, 0, StatusCode{Code: 0x1234, FailureType: 0x56, Counter: 1}, StatusCode{Code: 0x1234, FailureType: 0x57, Counter: 0x7E},
			StatusCode{Code: 0x1235, Counter: 127}, StatusCode{Code: 0x1236, Counter: -5}), script{
			{"1914", "7E8 10 0A 59 14 12 34 56 01 / 7E8 21 12 34 57 7E 00 00 00"},
		}},
		{"malformed", module6(0xFF, 0), script{
			{"19", "7E8 03 7F 19 13 00 00 00 00"}, {"1902", "7E8 03 7F 19 13 00 00 00 00"}, {"1999", "7E8 03 7F 19 12 00 00 00 00"},
			{"22F1", "7E8 03 7F 22 13 00 00 00 00"}, {"221234", "7E8 03 7F 22 31 00 00 00 00"},
		}},
	} {
		t.Run(row.name, func(t *testing.T) {
			bubble(t, row.build, func(t *testing.T, h *host) {
				ask7E0.run(t, h)
				row.steps.run(t, h)
			})
		})
	}
}

// 50 codes are 3 + 4·50 = 203 bytes: a first frame and 29 more, numbered 1 to F, 0 to F, and on
// (ISO 15765-2).
func TestService19_FiftyCodes(t *testing.T) {
	var codes []StatusCode
	for i := range 50 {
		codes = append(codes, code(0x0300+uint16(i), 0x00, 0x28))
	}
	bubble(t, module6(0xFF, 0, codes...), func(t *testing.T, h *host) {
		ask7E0.run(t, h)
		got := h.lines("19022F")
		if want := "7E8 10 CB 59 02 FF 03 00 00 / 7E8 21 28 03 01 00 28 03 02 / "; len(got) < 700 || got[:len(want)] != want {
			t.Errorf("got %s", got)
		}
		if want := " / 7E8 2D "; got[len(got)-len("7E8 2D 00 00 00 00 00 00 00")-3:][:len(want)] != want {
			t.Errorf("the last frame of %s", got)
		}
	})
}

// Snapshots and extended data, values of a UDS library's published examples (python-udsoncan).
func TestService19_Records(t *testing.T) {
	long := []byte{0xA6, 0x66, 0x07, 0x50, 0x20}
	c := code(0x1234, 0x56, 0x24)
	c.Snapshots = []Snapshot{
		{Number: 2, Data: []Identifier{{0x4711, long}, {0x6789, []byte{0x99, 0x88, 0x77}}}},
		{Number: 3, Data: []Identifier{{0x4455, []byte{0x43, 0x21}}}},
	}
	c.Extended = []ExtendedRecord{{0x05, []byte{0x17}}, {0x10, []byte{0x79}}, {0x91, []byte{0x01, 0x02}}}
	bubble(t, module6(0xFF, 0, c, code(0x0805, 0x11, 0x2F)), func(t *testing.T, h *host) {
		ask7E0.run(t, h)
		script{
			{"1903", "7E8 10 0A 59 03 12 34 56 02 / 7E8 21 12 34 56 03 00 00 00"},
			{"1904123456FF", "7E8 10 1A 59 04 12 34 56 24 / 7E8 21 02 02 47 11 A6 66 07 / 7E8 22 50 20 67 89 99 88 77 / 7E8 23 03 01 44 55 43 21 00"},
			{"190412345603", "7E8 10 0C 59 04 12 34 56 24 / 7E8 21 03 01 44 55 43 21 00"},
			{"190412345609", "7E8 03 7F 19 31 00 00 00 00"},
			{"1904080511FF", "7E8 06 59 04 08 05 11 2F 00"}, // known, nothing stored
			{"190408051103", "7E8 06 59 04 08 05 11 2F 00"},
			{"1904080512FF", "7E8 03 7F 19 31 00 00 00 00"}, // another failure type is another code
			{"190612345605", "7E8 10 08 59 06 12 34 56 24 / 7E8 21 05 17 00 00 00 00 00"},
			{"1906123456FE", "7E8 10 09 59 06 12 34 56 24 / 7E8 21 91 01 02 00 00 00 00"},
			{"1906123456FF", "7E8 10 0D 59 06 12 34 56 24 / 7E8 21 05 17 10 79 91 01 02"},
			{"190608051105", "7E8 06 59 06 08 05 11 2F 00"},
			{"190612345606", "7E8 03 7F 19 31 00 00 00 00"},
			{"1904123456", "7E8 03 7F 19 13 00 00 00 00"},
		}.run(t, h)
	})
}

// A car after SAE J1979-2, by what is known of it: maps and identification as F4xx and F8xx,
// codes by 19 42 and 19 55, the freeze frame as a snapshot.
func TestSuccessorECU(t *testing.T) {
	build := func() *Sim {
		e := SuccessorECU()
		e.Delay, e.Jitter, e.Pad, e.VIN, e.StatusMask = 0, 0, 0, "1D4GP00R55B123456", 0xFF
		e.Stored, e.Pending, e.Permanent = Codes("P0171"), Codes("P0302"), Codes("P0420", "P0171")
		frozen := known()
		frozen.RPM, frozen.Volts = 1518, 14.199
		e.Freeze = &Freeze{Codes("P0171")[0], frozen}
		return New(Steady(known()), WithECUs(e), Instant())
	}
	bubble(t, build, func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"0100", "NO DATA"}, {"03", "NO DATA"}, {"0902", "NO DATA"},
			{"22F400", "62 F4 00 BE 3F B8 13"},
			{"22F401", "62 F4 01 81 07 E5 00"},
			{"22F800", "62 F8 00 54 41 00 00"}, // 02, 04, 06, 0A, 10
			{"22F802", "014 / 0: 62 F8 02 31 44 34 / 1: 47 50 30 30 52 35 35 / 2: 42 31 32 33 34 35 36"},
			{"22F804", "013 / 0: 62 F8 04 53 49 4D / 1: 43 41 52 2D 45 4E 47 / 2: 2D 30 30 30 31 00 00"},
			{"22F806", "62 F8 06 17 91 BC 82"},
			{"22F80A", "017 / 0: 62 F8 0A 45 43 4D / 1: 2D 45 6E 67 69 6E 65 / 2: 43 6F 6E 74 72 6F 6C / 3: 00 00 00 00 00 00 00"},
			{"22F810", "62 F8 10 01"},
			{"22F80B", "NO DATA"},
			{"194233081E", "00B / 0: 59 42 33 FF FF 04 / 1: 02 01 71 00 09 00 00"}, // severity, code, status
			{"194233041E", "00B / 0: 59 42 33 FF FF 04 / 1: 02 03 02 00 04 00 00"},
			{"1942330801", "59 42 33 FF FF 04"}, // not of that severity
			{"194210081E", "NO DATA"},
			{"195533", "00D / 0: 59 55 33 FF 04 04 / 1: 20 00 08 01 71 00 08"},
			{"19020C", "00B / 0: 59 02 FF 01 71 00 / 1: 09 03 02 00 04 00 00"},
			{"1903", "59 03 01 71 00 00"},
			{"ATH1", "OK"}, {"ATSH7E0", "OK"},
			{"19040171 0000", "7E8 10 2F 59 04 01 71 00 09 / 7E8 21 00 0C F4 04 3F F4 05 / 7E8 22 7B F4 06 80 F4 07 82 / 7E8 23 F4 0B 21 F4 0C 17 B8 / " +
				"7E8 24 F4 0D 64 F4 0E 98 F4 / 7E8 25 0F 44 F4 11 25 F4 1F / 7E8 26 02 58 F4 42 37 77 00"},
			{"0100", "7E8 03 7F 01 11 00 00 00 00"},
		}.run(t, h)
	})
}

// No source says whether a count comes before the data of F802: an ECU can do both.
func TestSuccessorECU_CountedInfo(t *testing.T) {
	bubble(t, engineWith(func(e *ECU) { e.OBDonUDS, e.CountedInfo, e.Pad, e.VIN = true, true, 0, "1D4GP00R55B123456" }), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{{"22F802", "015 / 0: 62 F8 02 01 31 44 / 1: 34 47 50 30 30 52 35 / 2: 35 42 31 32 33 34 35 / 3: 36 00 00 00 00 00 00"}}.run(t, h)
	})
}

// A code that is stored and pending has one status.
func TestService19_StoredAndPending(t *testing.T) {
	bubble(t, engineWith(func(e *ECU) { e.Stored, e.Pending = Codes("P0301"), Codes("P0301") }), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{{"19022F", "59 02 0D 03 01 00 0D"}, {"03", "43 01 03 01"}, {"07", "47 01 03 01"}}.run(t, h)
	})
}

// SAE J1979 service 04 clears codes, freeze frame, test results, readiness and the counts since
// the last clearing; not permanent codes. With the engine running it is refused: 7F 04 22.
func TestClearing_Everything(t *testing.T) {
	now := known()
	now.OdometerKM, now.ClearedKM, now.WarmUps, now.MILOnKM = 12345.6, 812, 41, 30
	e := EngineECU()
	e.Delay, e.Jitter, e.Pad = 0, 0, 0
	e.Stored, e.Pending, e.Permanent, e.Misfires[0] = Codes("P0301"), Codes("P0741"), Codes("P0420"), Misfire{3, 1}
	e.Freeze = &Freeze{e.Stored[0], now}
	e.Status = []StatusCode{{Code: Codes("U0101")[0], FailureType: 0x87, Status: 0x28, Snapshots: []Snapshot{{Number: 1, Data: []Identifier{{0x4711, []byte{1}}}}}}}
	e.StatusMask = 0xFF
	sim := New(CarFunc(func(time.Duration) Condition { return now }), WithECUs(e), Instant())
	h := dial(t, sim)
	quiet.run(t, h)
	before := script{
		{"0101", "41 01 81 07 E5 00"}, {"0121", "41 21 00 1E"}, {"0130", "41 30 29"}, {"0131", "41 31 03 2C"}, {"020200", "42 02 00 03 01"},
	}
	before.run(t, h)
	script{{"04", "7F 04 22"}, {"14FFFF33", "7F 14 22"}}.run(t, h)
	before.run(t, h)
	sim.Change(func([]*ECU) { now.RPM = 0 })
	script{
		{"14FFFF", "7F 14 13"}, {"14000000", "NO DATA"}, {"0400", "7F 04 13"},
		{"03", "43 01 03 01"},
		{"04", "44"},
		{"03", "43 00"}, {"07", "47 00"}, {"0A", "4A 01 04 20"}, {"020200", "42 02 00 00 00"},
		{"0101", "41 01 00 07 E5 E5"}, {"0121", "41 21 00 00"}, {"0130", "41 30 00"}, {"0131", "41 31 00 00"}, {"01A6", "41 A6 00 01 E2 40"},
		{"06A2", "013 / 0: 46 A2 0B 24 00 00 / 1: 00 00 FF FF A2 0C 24 / 2: 00 00 00 00 FF FF 00"},
		{"1902FF", "59 02 FF C1 01 87 50"}, {"19022F", "59 02 FF"}, {"1903", "59 03"}, // known, and untested since
	}.run(t, h)
	sim.Change(func([]*ECU) { now.OdometerKM += 7.2 })
	script{{"0131", "41 31 00 07"}, {"14FFFFFF", "54"}, {"0131", "41 31 00 00"}}.run(t, h)
	if sim.ClearAttempts() != 7 || sim.Asked(0x04) != 3 || sim.Asked(0x14) != 4 || sim.WriteAttempts() != 7 || sim.Asked(0x03) != 2 {
		t.Errorf("clear %d, 04 %d, 14 %d, write %d, 03 %d", sim.ClearAttempts(), sim.Asked(0x04), sim.Asked(0x14), sim.WriteAttempts(), sim.Asked(0x03))
	}
}

// The older buses: three codes a line (SAE J1979; one code as in the ELM327 data sheet p.34),
// silence of a car without any (from memory), and results of service 06 (layout from memory).
func TestOlderBuses_CodesAndTests(t *testing.T) {
	build := func(change func(*ECU)) func() *Sim { return engineWith(change, OnBus(J1850VPW)) }
	first := script{{"ATE0", "ATE0 / OK"}, {"ATSP2", "OK"}}
	bubble(t, build(func(e *ECU) {
		e.Stored, e.Pending = Codes("P0300", "P0304", "P0700", "P0741", "U0101"), Codes("P0133")
		e.LegacyTests = []LegacyTest{{TID: 0x01, Component: 0x11, Value: 0x0123, Limit: 0x0200}, {TID: 0x01, Component: 0x12, Minimum: true, Value: 5, Limit: 2}, {TID: 0x05}}
	}), func(t *testing.T, h *host) {
		first.run(t, h)
		script{
			{"03", "43 03 00 03 04 07 00 / 43 07 41 C1 01 00 00"},
			{"07", "47 01 33 00 00 00 00"},
			{"0600", "46 00 FF 88 00 00 00"},
			{"0601", "46 01 11 01 23 02 00 / 46 01 92 00 05 00 02"},
			{"0602", "NO DATA"},
		}.run(t, h)
	})
	bubble(t, build(func(*ECU) {}), func(t *testing.T, h *host) {
		first.run(t, h)
		script{{"03", "43 00 00 00 00 00 00"}, {"07", "47 00 00 00 00 00 00"}, {"0600", "NO DATA"}}.run(t, h)
	})
	bubble(t, build(func(e *ECU) { e.SilentWithoutCodes, e.Pending = true, Codes("P0133") }), func(t *testing.T, h *host) {
		first.run(t, h)
		script{{"03", "NO DATA"}, {"07", "47 01 33 00 00 00 00"}, {"010C", "41 0C 1A F8"}}.run(t, h)
	})
}
