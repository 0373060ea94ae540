package drive

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
	"github.com/judder-obd/judder/simcar"
)

const slipProfile = `
name = "practice car"
[[parameter]]
signal = "SLIP"
name = "converter slip"
role = "slip"
module = "7E1"
identifier = "4D01"
first_byte = 0
bytes = 2
signed = true
scale = 0.25
offset = 0
unit = "rpm"
[[parameter]]
signal = "TFT"
name = "fluid temperature"
role = "fluid temperature"
module = "7E1"
identifier = "4D02"
first_byte = 0
bytes = 1
signed = false
scale = 1
offset = -40
unit = "°C"
`

// The profile's parameters come at their periods, engine speed does not starve, and after
// each the adapter asks for the schedule again.
func TestDrive_Profile(t *testing.T) {
	profile, err := vehicle.ParseProfile("test", []byte(slipProfile))
	if err != nil {
		t.Fatal(err)
	}
	gearbox := simcar.TransmissionECU()
	gearbox.DIDs = map[uint16][]byte{0x4D01: {0xFF, 0x9C}, 0x4D02: {0x7B}} // computed here: -100/4 rpm, 123-40 °C
	j, _ := rideWith(t, 30*time.Second, profile, simcar.WithECUs(simcar.EngineECU(), gearbox))
	for _, want := range []struct {
		signal pids.Signal
		value  float64
		least  float64 // readings a second
	}{{"SLIP", -25, 3}, {"TFT", 83, 0.1}} {
		if r := j.Rate(want.signal, "7E9", 10*time.Second, 30*time.Second); r < want.least {
			t.Errorf("%s: %.2f readings a second, want %.1f", want.signal, r, want.least)
		}
		for _, s := range j.Samples {
			if s.Signal == want.signal && math.Abs(s.Value-want.value) > 1e-9 {
				t.Fatalf("%s: %v, want %v", want.signal, s.Value, want.value)
			}
		}
	}
	if r := j.Rate(pids.RPM, "7E8", 10*time.Second, 30*time.Second); r < 20 {
		t.Errorf("engine speed starves: %.1f readings a second", r)
	}
	gears := 0
	for i := range j.Exchanges {
		if x := &j.Exchanges[i]; strings.HasPrefix(x.Request, "01A4") && len(x.Lines) == 1 && strings.HasPrefix(x.Lines[0].Text, "7E9") {
			gears++
		}
	}
	if gears < 20 {
		t.Errorf("the gear that only the gearbox reports was read %d times in 30 s", gears)
	}
}
