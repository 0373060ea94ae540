package drive

import (
	"slices"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd/redact"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/simcar"
)

// What is recorded without the car's number is read as what came: on every bus, behind every
// adapter, under faults.
func TestMask_ReadingsStay(t *testing.T) {
	var faults []simcar.Fault
	for _, kind := range []simcar.FaultKind{simcar.LateReply, simcar.DamagedReply, simcar.DataError, simcar.NulBytes, simcar.Noise, simcar.StoppedByItself, simcar.BufferFull} {
		faults = append(faults, simcar.Fault{Kind: kind, At: 3 * time.Second, Chance: 0.02, For: 60 * time.Millisecond})
	}
	faults = append(faults, simcar.Fault{Kind: simcar.AdapterReset, At: 6 * time.Second})
	for _, bus := range []simcar.Protocol{simcar.CAN11at500, simcar.CAN29at500, simcar.ISO9141, simcar.KWPFast, simcar.J1850VPW} {
		for _, profile := range simcar.Profiles {
			ecus := []*simcar.ECU{simcar.EngineECU(), simcar.TransmissionECU()}
			if profile.Name == "no-headers" && bus != simcar.CAN11at500 && bus != simcar.CAN29at500 {
				ecus = ecus[:1] // two without names are ErrMixed there
			}
			j, _ := ride(t, 20*time.Second, simcar.OnBus(bus), simcar.WithProfile(profile), simcar.WithFaults(faults...), simcar.WithECUs(ecus...))
			var mask redact.Mask
			var came, kept reply.Decoder
			n := 0
			for _, x := range j.Exchanges {
				a := came.Decode(&x)
				hidden := mask.Hide(x, a)
				b := kept.Decode(&hidden)
				if n += len(a.Samples); !slices.Equal(a.Samples, b.Samples) || a.Answered() != b.Answered() {
					t.Errorf("%v, %s: %q came, %q kept: %v, %v", bus, profile.Name, x.Lines, hidden.Lines, a, b)
				}
			}
			// What nobody asked for is not kept, and counts as damaged.
			if n < 5 || came.Counts.Messages != kept.Counts.Messages || came.Counts.Late != kept.Counts.Late {
				t.Errorf("%v, %s: %d readings, %+v, kept %+v", bus, profile.Name, n, came.Counts, kept.Counts)
			}
		}
	}
}
