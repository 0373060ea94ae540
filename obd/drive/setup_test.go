package drive

import (
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/obdtest"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/simcar"
)

// One reply that is lost or damaged while the car is found decides nothing of the drive: not who
// is asked, not what is asked, not how often.
func TestSetUp_OneReplyLost(t *testing.T) {
	nameless, ok := simcar.ProfileNamed("no-headers")
	if !ok {
		t.Fatal("no such adapter")
	}
	for name, opts := range map[string][]simcar.Option{"headers": nil, "no headers": {simcar.WithProfile(nameless)}} {
		for _, kind := range []simcar.FaultKind{simcar.LostReply, simcar.DataError} {
			usual := 0.0
			for at := time.Duration(0); at < 4*time.Second; at += every(80 * time.Millisecond) {
				all := append([]simcar.Option{simcar.WithECUs(simcar.EngineECU(), simcar.TransmissionECU())}, opts...)
				if at > 0 {
					all = append(all, simcar.WithFaults(simcar.Fault{Kind: kind, At: at}))
				}
				j, _ := ride(t, 12*time.Second, all...)
				r := j.Rate(pids.RPM, "", 7*time.Second, 12*time.Second)
				if at == 0 {
					usual = r
				}
				if r < 0.9*usual || r > 1.1*usual || usual < 20 {
					t.Errorf("%s, %v at %v: %.1f engine-speed readings a second, %.1f as a rule", name, kind, at, r, usual)
				}
			}
		}
	}
}

// An adapter that was left showing the length of each frame in front of its data (AT D1) is told
// not to.
func TestSetUp_LengthShown(t *testing.T) {
	shown := true
	b := &obdtest.BadAdapter{}
	b.Strike = func(command string) []string {
		shown = shown && command != "ATD0"
		return nil
	}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		line := b.Engine("7E8", request)
		if shown {
			line = line[:3] + "8" + line[3:]
		}
		return []string{line}, true
	}
	if j := rideBad(t, 10*time.Second, b); j.Rate(pids.RPM, "7E8", 5*time.Second, 10*time.Second) < 20 {
		show(t, j)
		t.Error("not read")
	}
}

// Replies in a layout that is none of the standards' are reported as such, not as a silent car.
func TestSetUp_UnknownLayout(t *testing.T) {
	b := &obdtest.BadAdapter{}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		return []string{"12345678" + b.Engine("7E8", request)}, true
	}
	if j := rideBad(t, 10*time.Second, b); !j.Reported(obd.CauseUnreadable) || j.Reported(obd.CauseCarSilent) {
		show(t, j)
		t.Error("taken for a silent car")
	}
}

// A car that the adapter's own search does not find, because it follows SAE J1979-2, is found on
// every CAN.
func TestSetUp_SuccessorOnEveryCAN(t *testing.T) {
	for bus, within := range map[simcar.Protocol]time.Duration{
		simcar.CAN11at500: 15 * time.Second, simcar.CAN29at500: 18 * time.Second, simcar.CAN11at250: 35 * time.Second, simcar.CAN29at250: 40 * time.Second,
	} {
		engine := simcar.EngineECU()
		engine.OBDonUDS = true
		j, _ := ride(t, time.Minute, simcar.OnBus(bus), simcar.WithECUs(engine))
		first := time.Duration(0)
		for _, s := range j.Samples {
			if s.Signal == pids.RPM {
				first = s.At
				break
			}
		}
		if t.Logf("%v: first engine speed after %v", bus, first); first == 0 || first > within {
			t.Errorf("%v: first engine speed after %v, want %v", bus, first, within)
		}
	}
}

// A car after SAE J1979-2 is read with its ECUs' names, whenever the adapter starts again
// while it is looked for.
func TestSetUp_SuccessorAndReset(t *testing.T) {
	for at := time.Duration(0); at < 9*time.Second; at += every(200 * time.Millisecond) {
		engine := simcar.EngineECU()
		engine.OBDonUDS = true
		j, _ := ride(t, 40*time.Second, simcar.WithECUs(engine), simcar.WithFaults(simcar.Fault{Kind: simcar.AdapterReset, At: at}))
		if named, all := j.Rate(pids.RPM, "7E8", 30*time.Second, 40*time.Second), j.Rate(pids.RPM, "", 30*time.Second, 40*time.Second); named < 20 || named != all {
			t.Errorf("started again at %v: %.1f engine-speed readings a second, %.1f with a name", at, all, named)
		}
	}
}
