package drive

import (
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/simcar"
)

// An ECU that answers 7F 01 78 (ISO 14229-1: response pending) and then the real reply,
// later than the adapter's own wait: it is waited for and not asked again meanwhile.
func TestDrive_ResponsePending(t *testing.T) {
	for _, then := range []time.Duration{60 * time.Millisecond, 700 * time.Millisecond} {
		engine := simcar.EngineECU()
		engine.Refusals = []simcar.Refusal{{Service: 1, Param: 0x0C, Code: 0x78, Then: then}}
		j, sim := ride(t, 40*time.Second, simcar.WithECUs(engine))
		compare(t, j, sim, false, 0)
		if r := j.Rate(pids.RPM, "", 10*time.Second, 40*time.Second); r < 0.3 { // each takes the wait of the ECU and the longest of the adapter
			t.Errorf("reply after %v: %.2f engine-speed readings a second", then, r)
			show(t, j)
		}
	}
}
