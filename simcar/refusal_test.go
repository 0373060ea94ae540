package simcar

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// refusing is a Sim of one engine with refusals, on an adapter that waits for a pending reply
// or not.
func refusing(waits bool, refusals ...Refusal) func() *Sim {
	p := Profiles[0]
	p.WaitsPending = waits
	return fixed(known(), WithProfile(p), func(s *Sim) {
		s.ecus[0].Refusals = refusals
		s.ecus[0].DIDs = map[uint16][]byte{0xF190: []byte("1D4GP00R55B123456")}
		s.ecus[0].Pad = 0
	})
}

// ISO 14229-1: after 78 the reply comes later, and 78 may come again. An adapter that waits
// (ELM327 data sheet p.73) gets it; another is back at the prompt after its time.
func TestRefusals_Pending(t *testing.T) {
	const vin = "014 / 0: 62 F1 90 31 44 34 / 1: 47 50 30 30 52 35 35 / 2: 42 31 32 33 34 35 36"
	for _, row := range []struct {
		name    string
		waits   bool
		refusal Refusal
		want    string
		took    time.Duration
	}{
		{"within the adapter's time", false, Refusal{Then: 100 * time.Millisecond}, "7F 22 78 / " + vin, 400 * time.Millisecond},
		{"twice, each within it", false, Refusal{Then: 150 * time.Millisecond, Again: 1}, "7F 22 78 / 7F 22 78 / " + vin, 600 * time.Millisecond},
		{"later than it", false, Refusal{Then: 3 * time.Second}, "7F 22 78", 300 * time.Millisecond},
		{"later, and waited for", true, Refusal{Then: 3 * time.Second}, "7F 22 78 / " + vin, 3500 * time.Millisecond},
		{"later than P2*", true, Refusal{Then: 6 * time.Second}, "7F 22 78", 5100 * time.Millisecond},
		{"three times 4 s", true, Refusal{Then: 4 * time.Second, Again: 2}, "7F 22 78 / 7F 22 78 / 7F 22 78 / " + vin, 12500 * time.Millisecond},
	} {
		t.Run(row.name, func(t *testing.T) {
			row.refusal.Service, row.refusal.Param, row.refusal.Code = 0x22, 0xF190, 0x78
			bubble(t, refusing(row.waits, row.refusal), func(t *testing.T, h *host) {
				quiet.run(t, h)
				script{{"ATAT0", "OK"}}.run(t, h)
				begun := time.Now()
				script{{"22F190", row.want}}.run(t, h)
				if took := time.Since(begun); took > row.took || took < row.took/2 {
					t.Errorf("took %v, want about %v", took, row.took)
				}
				script{{"010C", "41 0C 1A F8"}}.run(t, h)
			})
		})
	}
}

// An ECU that says "wait" without end keeps a patient adapter from its prompt: the host must end it.
func TestRefusals_PendingForEver(t *testing.T) {
	bubble(t, refusing(true, Refusal{Service: 0x19, Param: -1, Code: 0x78, Then: 2 * time.Second, Again: -1}), func(t *testing.T, h *host) {
		quiet.run(t, h)
		h.write("19022F\r")
		time.Sleep(30 * time.Second)
		h.write("\r")
		got := h.read()
		if n := strings.Count(got, "7F 19 78"); n < 10 || n > 16 || !strings.Contains(got, "STOPPED") {
			t.Errorf("%d times: %q", n, got)
		}
		script{{"010C", "41 0C 1A F8"}}.run(t, h)
	})
}

// An Instant Sim comes to an end all the same.
func TestRefusals_PendingForEverInstant(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		e := EngineECU()
		e.Refusals = []Refusal{{Service: 0x19, Param: -1, Code: 0x78, Again: -1}}
		h := dial(t, New(Steady(known()), WithECUs(e), Instant()))
		quiet.run(t, h)
		if n := strings.Count(h.lines("19022F"), "7F 19 78"); n != endlessPending {
			t.Errorf("%d times, want %d", n, endlessPending)
		}
		_ = h.conn.Close()
		synctest.Wait()
	})
}

// ISO 14229-1: 21 busy, to be asked again; 33 locked; 7F not in this session.
func TestRefusals_Codes(t *testing.T) {
	bubble(t, refusing(false,
		Refusal{Service: 0x19, Param: 0x02, Code: 0x21, Times: 2},
		Refusal{Service: 0x22, Param: 0x2001, Code: 0x33},
		Refusal{Service: 0x19, Param: 0x0A, Code: 0x7F},
		Refusal{Service: 0x22, Param: 0xF190, Code: 0x78, Then: 20 * time.Millisecond, Times: 1},
	), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"19022F", "7F 19 21"}, {"19022F", "7F 19 21"}, {"19022F", "59 02 0D"}, {"19022F", "59 02 0D"},
			{"222001", "7F 22 33"}, {"222001", "7F 22 33"},
			{"190A", "7F 19 7F"},
			{"ATH1", "OK"},
			{"22F190", "7E8 03 7F 22 78 00 00 00 00 / 7E8 10 14 62 F1 90 31 44 34 / 7E8 21 47 50 30 30 52 35 35 / 7E8 22 42 31 32 33 34 35 36"},
			{"22F190", "7E8 10 14 62 F1 90 31 44 34 / 7E8 21 47 50 30 30 52 35 35 / 7E8 22 42 31 32 33 34 35 36"},
		}.run(t, h)
	})
}

// The engine of a car with two ECUs says "wait" once, the transmission never; afterwards both
// answer in time. The same with each service in turn.
func TestWaitsOnce(t *testing.T) {
	car := func(services ...byte) func() *Sim {
		gearbox := TransmissionECU()
		gearbox.Pad, gearbox.Jitter = 0, 0
		return engineWith(func(e *ECU) { e.Pad, e.Refusals = 0, WaitsOnce(100*time.Millisecond, services...) },
			func(s *Sim) { s.ecus = append(s.ecus, gearbox) })
	}
	bubble(t, car(0x03), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"ATAT0", "OK"}, {"07", "47 00 / 47 00"}, {"03", "7F 03 78 / 43 00 / 43 00"}, {"03", "43 00 / 43 00"}, {"07", "47 00 / 47 00"},
		}.run(t, h)
	})
	bubble(t, car(ReadingServices...), func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"ATAT0", "OK"}, {"07", "7F 07 78 / 47 00 / 47 00"}, {"03", "7F 03 78 / 43 00 / 43 00"}, {"03", "43 00 / 43 00"}, {"07", "47 00 / 47 00"},
			{"010D", "7F 01 78 / 41 0D 64 / 41 0D 64"}, {"010D", "41 0D 64 / 41 0D 64"}, {"010C", "41 0C 1A F8 / 41 0C 1A F8"},
		}.run(t, h)
	})
}
