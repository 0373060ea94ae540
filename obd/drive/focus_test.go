package drive

import (
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/simcar"
)

// Of two ECUs that give engine speed the engine's is asked alone, so that it is read as
// often as if there were no other; an adapter that cannot ask it alone goes on asking all.
func TestDrive_EngineAlone(t *testing.T) {
	const from, to = 10 * time.Second, 20 * time.Second
	gearbox := simcar.TransmissionECU()
	for _, adapter := range simcar.Profiles {
		t.Run(adapter.Name, func(t *testing.T) {
			for _, bus := range []simcar.Protocol{simcar.CAN11at500, simcar.CAN29at500} {
				j, sim := ride(t, to, simcar.WithECUs(simcar.EngineECU(), gearbox), simcar.WithProfile(adapter), simcar.OnBus(bus))
				alone := false
				for _, l := range j.Links {
					alone = alone || strings.Contains(l.Text, "asked alone")
				}
				engine, other := j.Rate(pids.RPM, engineOn(bus), from, to), j.Rate(pids.RPM, gearboxOn(bus), from, to)
				t.Logf("%v: alone %v, engine %.1f/s, gearbox %.1f/s", bus, alone, engine, other)
				if adapter.Name != "no-headers" && alone == (other > 0) || engine+other+j.Rate(pids.RPM, "", from, to) < 5 {
					t.Errorf("%v: asked alone %v, yet the gearbox gives %.1f engine speeds a second", bus, alone, other)
				}
				compare(t, j, sim, adapter.Name == "no-headers", 0)
			}
		})
	}
}

func engineOn(bus simcar.Protocol) string {
	if bus == simcar.CAN29at500 {
		return "18DAF110"
	}
	return "7E8"
}

func gearboxOn(bus simcar.Protocol) string {
	if bus == simcar.CAN29at500 {
		return "18DAF118"
	}
	return "7E9"
}
