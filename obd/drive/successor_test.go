package drive

import (
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/simcar"
)

// A car after SAE J1979-2 answers no service 01: it is found by identifier F400, and its
// readings come by the same parameter table.
func TestDrive_SuccessorCar(t *testing.T) {
	for _, bus := range []simcar.Protocol{simcar.CAN11at500, simcar.CAN29at500} {
		engine := simcar.EngineECU()
		engine.OBDonUDS = true
		j, sim := ride(t, 40*time.Second, simcar.WithECUs(engine), simcar.OnBus(bus))
		from, to := 25*time.Second, 40*time.Second
		for signal, least := range map[pids.Signal]float64{pids.RPM: 40, pids.VSS: 4, pids.TP: 4, pids.LoadPct: 4, pids.ECT: 0.2} {
			if r := j.Rate(signal, "", from, to); r < least {
				t.Errorf("%v: %s %.1f readings a second, want %.1f", bus, signal, r, least)
			}
		}
		t.Logf("%v: %.1f engine speeds a second", bus, j.Rate(pids.RPM, "", from, to))
		compare(t, j, sim, false, 0)
	}
}
