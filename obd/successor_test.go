package obd

import (
	"testing"
	"time"

	"judder/pids"
	"judder/simcar"
)

// A car after SAE J1979-2 answers no service 01: it is found by identifier F400, and its
// readings come by the same parameter table.
func TestPoller_SuccessorCar(t *testing.T) {
	for _, bus := range []simcar.Protocol{simcar.CAN11at500, simcar.CAN29at500} {
		engine := simcar.EngineECU()
		engine.OBDonUDS = true
		j, sim := ride(t, 40*time.Second, simcar.WithECUs(engine), simcar.OnBus(bus))
		from, to := 25*time.Second, 40*time.Second
		for signal, least := range map[pids.Signal]float64{pids.RPM: 40, pids.VSS: 4, pids.TP: 4, pids.LoadPct: 4, pids.ECT: 0.2} {
			if r := j.rate(signal, "", from, to); r < least {
				t.Errorf("%v: %s %.1f readings a second, want %.1f", bus, signal, r, least)
			}
		}
		t.Logf("%v: %.1f engine speeds a second", bus, j.rate(pids.RPM, "", from, to))
		compare(t, j, sim, false, 0)
	}
}

// Requests and replies in both ways (SAE J1979: 41 0C 1A F8 is 1726 rpm; SAE J1979-2: the
// same behind 62 F4).
func TestDecoder_Successor(t *testing.T) {
	var d Decoder
	for request, line := range map[string]string{"010C": "7E804410C1AF8AAAAAA", "22F40C": "7E80562F40C1AF8AAAA"} {
		x := exchangeOf(time.Second, FormCAN11, request, line)
		got := d.Samples(nil, &x)
		if len(got) != 1 || got[0].Signal != pids.RPM || got[0].Value != 1726 || got[0].ECU != "7E8" {
			t.Errorf("%s: %+v", request, got)
		}
	}
	x := exchangeOf(2*time.Second, FormCAN11, "22F40C", "7E80562F40D1AF8AAAA") // another identifier than asked
	if got := d.Samples(nil, &x); len(got) != 0 {
		t.Errorf("taken for what was asked: %+v", got)
	}
	c := Capabilities{Successor: true}
	if a, b := c.request(0x0C), (&Capabilities{}).request(0x0C, 0x0D); a != "22F40C" || b != "010C0D" {
		t.Errorf("%s, %s", a, b)
	}
}
