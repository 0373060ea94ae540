package simcar

import (
	"testing"
	"time"
)

// quiet is the set-up of the examples: no echo, no adaptive timing to learn.
var quiet = script{{"ATE0", "ATE0 / OK"}, {"ATSP6", "OK"}}

// engineWith is a Sim of one engine ECU, zero delays, changed by f.
func engineWith(f func(*ECU), opts ...Option) func() *Sim {
	return func() *Sim {
		e := EngineECU()
		e.Delay, e.Jitter = 0, 0
		f(e)
		return New(Steady(known()), append([]Option{WithECUs(e), Instant()}, opts...)...)
	}
}

func TestService01_Bundles(t *testing.T) {
	for _, row := range []struct {
		order ReplyOrder
		want  string
	}{
		{AsAsked, "00A / 0: 41 04 3F 05 7B 0B / 1: 21 0C 1A F8 00 00 00"}, // shape: ELM327 data sheet p.45
		{Reversed, "00A / 0: 41 0C 1A F8 0B 21 / 1: 05 7B 04 3F 00 00 00"},
	} {
		bubble(t, engineWith(func(e *ECU) { e.Pad, e.ReplyOrder = 0, row.order }), func(t *testing.T, h *host) {
			quiet.run(t, h)
			script{
				{"01 04 05 0B 0C", row.want},
				{"01 0D 02", "41 0D 64"}, // what is not supported is left out
				{"01 02", "NO DATA"},
			}.run(t, h)
		})
	}
	bubble(t, engineWith(func(e *ECU) { e.ReplyOrder = Ascending }), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{{"010D0C", "41 0C 1A F8 0D 64"}}.run(t, h)
	})
}

// The replies of ISO 15031-5 with none, one and four codes; the four as published in a
// thread of raw replies on a general car-PC forum.
func TestServices_TroubleCodes(t *testing.T) {
	bubble(t, engineWith(func(e *ECU) {
		e.Pad = 0
		e.Stored = Codes("P0102", "P0113", "P0123", "P0222")
		e.Pending = Codes("P0133")
	}), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"03", "00A / 0: 43 04 01 02 01 13 / 1: 01 23 02 22 00 00 00"},
			{"07", "47 01 01 33"},
			{"0A", "4A 00"},
			{"0101", "41 01 84 07 E5 00"},
			{"19 01 08", "59 01 0D 04 00 04"},
			{"19 02 04", "59 02 0D 01 33 00 04"},
			{"19 42 33 04 1E", "00B / 0: 59 42 33 0D FF 04 / 1: 02 01 33 00 04 00 00"},
			{"19 55 33", "59 55 33 0D 04"},
			{"19 99", "NO DATA"},
		}.run(t, h)
	})
}

func TestService02_FreezeFrame(t *testing.T) {
	frozen := known()
	frozen.RPM = 1518
	bubble(t, engineWith(func(e *ECU) { e.Freeze = &Freeze{Codes("P0301")[0], frozen} }), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"020200", "42 02 00 03 01"},
			{"020C00", "42 0C 00 17 B8"},
			{"010C", "41 0C 1A F8"},
			{"020C01", "NO DATA"},
		}.run(t, h)
	})
	bubble(t, engineWith(func(*ECU) {}), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{{"020200", "42 02 00 00 00"}, {"020C00", "NO DATA"}}.run(t, h)
	})
}

func TestService06_Misfire(t *testing.T) {
	bubble(t, engineWith(func(e *ECU) { e.Pad, e.Misfires[0] = 0, Misfire{3, 1} }), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"0600", "46 00 00 00 00 01"},
			{"06A0", "46 A0 F8 00 00 00"}, // A1…A5
			{"06A2", "013 / 0: 46 A2 0B 24 00 03 / 1: 00 00 FF FF A2 0C 24 / 2: 00 01 00 00 FF FF 00"},
			{"06A6", "NO DATA"},
		}.run(t, h)
	})
}

func TestService09_Information(t *testing.T) {
	build := func(opts ...Option) func() *Sim { // VIN of the ELM327 data sheet p.42
		return engineWith(func(e *ECU) { e.Pad, e.VIN = 0, "1D4GP00R55B123456" }, opts...)
	}
	bubble(t, build(), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"0902", "014 / 0: 49 02 01 31 44 34 / 1: 47 50 30 30 52 35 35 / 2: 42 31 32 33 34 35 36"},
			{"0900", "49 00 54 40 00 00"},
			{"0906", "49 06 01 17 91 BC 82"},
		}.run(t, h)
	})
	bubble(t, build(OnBus(ISO9141)), func(t *testing.T, h *host) {
		script{
			{"ATE0", "ATE0 / OK"},
			{"ATSP3", "OK"},
			{"0901", "BUS INIT: ...OK / 49 01 05"},
			{"0902", "49 02 01 00 00 00 31 / 49 02 02 44 34 47 50 / 49 02 03 30 30 52 35 / 49 02 04 35 42 31 32 / 49 02 05 33 34 35 36"},
		}.run(t, h)
	})
}

// Examples 1, 3, 5 of OBDonUDS shapes, computed from ISO 14229-1 layouts.
func TestService22(t *testing.T) {
	uds := engineWith(func(e *ECU) {
		e.OBDonUDS = true
		e.DIDs = map[uint16][]byte{0x116B: {0, 0}} // ELM327 data sheet p.40
	})
	bubble(t, uds, func(t *testing.T, h *host) {
		script{
			{"ATE0", "ATE0 / OK"},
			{"0100", "SEARCHING... / UNABLE TO CONNECT"}, // the search asks 01 00
			{"ATSP6", "OK"},
			{"0100", "NO DATA"},
			{"22 F4 0C", "62 F4 0C 1A F8"},
			{"22 F4 0C F4 0D", "008 / 0: 62 F4 0C 1A F8 F4 / 1: 0D 64 AA AA AA AA AA"},
			{"22 F4 0C F4 9F", "62 F4 0C 1A F8"},
			{"22 F8 10", "62 F8 10 01"},
			{"22 11 6B", "62 11 6B 00 00"},
			{"ATSH7E0", "OK"},
			{"0100", "7F 01 11"},
			{"22 12 34", "7F 22 31"},
			{"3E 00", "7E 00"},
			{"3E 80", "NO DATA"},
		}.run(t, h)
	})
}

func TestRefusals(t *testing.T) {
	bubble(t, fixed(known(), func(s *Sim) {
		s.ecus[0].Refusals = []Refusal{
			{Service: 0x22, Param: 0xF190, Code: 0x78, Then: 50 * time.Millisecond},
			{Service: 0x01, Param: 0x0D, Code: 0x12},
			{Service: 0x09, Param: -1, Code: 0x78, Then: time.Second},
		}
		s.ecus[0].DIDs = map[uint16][]byte{0xF190: {1}}
	}), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"ATAT0", "OK"},
			{"22F190", "7F 22 78 / 62 F1 90 01"},
			{"010D", "7F 01 12"},
			{"0902", "7F 09 78 / 014 / 0: 49 02 01 30 54 45 / 1: 53 54 31 31 41 30 4B / 2: 30 30 30 30 30 30 32"}, // it waits (data sheet p.73)
		}.run(t, h)
	})
}

func TestWriteAttempts(t *testing.T) {
	sim := engineWith(func(e *ECU) { e.Stored = Codes("P0301") })()
	h := dial(t, sim)
	quiet.run(t, h)
	script{
		{"03", "43 01 03 01"},
		{"04", "7F 04 22"}, // the engine runs
		{"03", "43 01 03 01"},
		{"08 01", "NO DATA"},
		{"2E F190 00", "NO DATA"},
		{"2F 1234 03", "NO DATA"},
		{"31 01 FF00", "NO DATA"},
		{"14 FFFF33", "7F 14 22"},
		{"ATCAF0", "OK"},
		{"01 04", "03 7F 04 22 AA AA AA AA"},
	}.run(t, h)
	if got := sim.WriteAttempts(); got != 7 {
		t.Errorf("got %d write attempts, want 7", got)
	}
	if got := sim.Requests()[3].Text; got != "04" {
		t.Errorf("request 3: got %q, want 04", got)
	}
}

// Clearing with the engine stopped: stored and pending go, permanent codes stay.
func TestClearing(t *testing.T) {
	e := EngineECU()
	e.Delay, e.Jitter = 0, 0
	e.Stored, e.Pending, e.Permanent = Codes("P0301"), Codes("P0741"), Codes("P0420")
	stopped := CarFunc(func(time.Duration) Condition {
		c := WarmIdle()
		c.RPM = 0
		return c
	})
	sim := New(stopped, WithECUs(e), Instant())
	h := dial(t, sim)
	quiet.run(t, h)
	script{{"04", "44"}, {"03", "43 00"}, {"07", "47 00"}, {"0A", "4A 01 04 20"}}.run(t, h)
	if got := sim.WriteAttempts(); got != 1 {
		t.Errorf("%d write attempts, want 1", got)
	}
}
