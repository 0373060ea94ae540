package simcar

import (
	"strings"
	"testing"
	"time"
)

// The VIN of the ELM327 data sheet p.42, whole and damaged; the next reply is whole again. A
// short reply is not damaged and leaves the fault to come.
func TestLongFaults(t *testing.T) {
	const first, second, third = "7E8 10 14 49 02 01 31 44 34", " / 7E8 21 47 50 30 30 52 35 35", " / 7E8 22 42 31 32 33 34 35 36"
	for _, row := range []struct {
		name  string
		fault Fault
		want  string
	}{
		{"cut after the first frame", Fault{Kind: CutReply}, first},
		{"cut after one more", Fault{Kind: CutReply, Count: 1}, first + second},
		{"cut, though late", Fault{Kind: CutReply, Count: 9}, first + second},
		{"frame 1 lost", Fault{Kind: LostFrame}, first + third}, // sequence 2 where 1 is wanted (ISO 15765-2)
		{"last frame lost", Fault{Kind: LostFrame, Count: 2}, first + second},
		{"length 7 too many", Fault{Kind: WrongLength}, strings.Replace(first, "10 14", "10 1B", 1) + second + third},
		{"length claimed as 10", Fault{Kind: WrongLength, Count: 10}, strings.Replace(first, "10 14", "10 0A", 1) + second + third},
	} {
		t.Run(row.name, func(t *testing.T) {
			build := engineWith(func(e *ECU) { e.VIN = "1D4GP00R55B123456" }, WithFaults(row.fault))
			bubble(t, build, func(t *testing.T, h *host) {
				quiet.run(t, h)
				script{{"ATH1", "OK"}, {"010C", "7E8 04 41 0C 1A F8 AA AA AA"}, {"0902", row.want}, {"0902", first + second + third}}.run(t, h)
			})
		})
	}
}

// A damaged reply gives no readings, and Strikes lists the fault.
func TestLongFaults_NotGiven(t *testing.T) {
	sim := engineWith(func(*ECU) {}, WithFaults(Fault{Kind: LostFrame, Chance: 1, Until: time.Hour}))()
	h := dial(t, sim)
	quiet.run(t, h)
	script{{"010C0D0405", "00A / 0: 41 0C 1A F8 0D 64"}}.run(t, h)
	if s := sim.Strikes(); len(s) != 1 || s[0].Kind != LostFrame || len(sim.Given()) != 0 {
		t.Errorf("strikes %v, given %v", s, sim.Given())
	}
}

// On the older buses a line of the VIN goes (lines: ELM327 data sheet p.42).
func TestLongFaults_OlderBuses(t *testing.T) {
	build := engineWith(func(e *ECU) { e.VIN = "1D4GP00R55B123456" }, OnBus(J1850VPW),
		WithFaults(Fault{Kind: WrongLength}, Fault{Kind: LostFrame, Count: 3}, Fault{Kind: CutReply}))
	bubble(t, build, func(t *testing.T, h *host) {
		script{
			{"ATE0", "ATE0 / OK"}, {"ATSP2", "OK"},
			{"0902", "49 02 01 00 00 00 31 / 49 02 02 44 34 47 50 / 49 02 03 30 30 52 35 / 49 02 05 33 34 35 36"},
			{"0902", "49 02 01 00 00 00 31"},
			{"0902", "49 02 01 00 00 00 31 / 49 02 02 44 34 47 50 / 49 02 03 30 30 52 35 / 49 02 04 35 42 31 32 / 49 02 05 33 34 35 36"},
		}.run(t, h)
	})
}

// Two ECUs interleave and one loses a frame: without headers nobody sees whose it was.
func TestLongFaults_Interleaved(t *testing.T) {
	bubble(t, func() *Sim {
		e, g := EngineECU(), TransmissionECU()
		e.Jitter, g.Jitter, g.Delay = 0, 0, e.Delay+10
		e.Stored, g.Stored = Codes("P0102", "P0113", "P0123", "P0222"), Codes("P0741", "P0740", "P0700")
		e.Pad = 0
		return New(Steady(known()), WithECUs(e, g), WithFaults(Fault{Kind: LostFrame}))
	}, func(t *testing.T, h *host) {
		quiet.run(t, h)
		script{
			{"03", "00A / 0: 43 04 01 02 01 13 / 008 / 0: 43 03 07 41 07 40 / 1: 07 00 00 00 00 00 00"},
			{"03", "00A / 0: 43 04 01 02 01 13 / 008 / 0: 43 03 07 41 07 40 / 1: 01 23 02 22 00 00 00 / 1: 07 00 00 00 00 00 00"},
			{"ATH1", "OK"},
			{"03", "7E8 10 0A 43 04 01 02 01 13 / 7E9 10 08 43 03 07 41 07 40 / 7E8 21 01 23 02 22 00 00 00 / 7E9 21 07 00 00 00 00 00 00"},
		}.run(t, h)
	})
}
