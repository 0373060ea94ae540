package session

import (
	"slices"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/simcar/drivetrain"
)

// A car that reports one gear throughout, or an ordinary change or two, does not hunt for gears.
func TestKeptGear(t *testing.T) {
	var s seconds
	for _, x := range []struct{ at, gear float64 }{{10, 4}, {20, 4}, {30, 4}, {40, 5}, {50, 4}, {60, 5}, {70, 4}} {
		s.take(&pids.Sample{At: sec(x.at), Signal: pids.GearAct, Value: x.gear})
	}
	for _, c := range []struct {
		from, to float64
		want     bool
	}{{8, 32, true}, {8, 41, true}, {8, 61, true}, {8, 71, false}, {38, 39, false}, {100, 110, false}, {12, 13, false}} {
		if got := s.keptGear(sec(c.from), sec(c.to)); got != c.want {
			t.Errorf("%g to %g s: %v", c.from, c.to, got)
		}
	}
}

// The same steps, noted as two kinds, are one.
func TestJoined(t *testing.T) {
	const cycling = detect.LockUpCycling
	seen := func(start, end float64, kind detect.ObservationKind, rpm float64) detect.Observation {
		return detect.Observation{Start: sec(start), End: sec(end), Kind: kind, SwingRPM: rpm}
	}
	got := joined([]detect.Observation{seen(10, 40, cycling, 100), seen(12, 14, detect.SlowSwing, 30), seen(20, 45, cycling, 120), seen(60, 70, cycling, 90)})
	want := []detect.Observation{seen(10, 45, cycling, 120), seen(12, 14, detect.SlowSwing, 30), seen(60, 70, cycling, 90)}
	if !slices.Equal(got, want) {
		t.Errorf("%+v, want %+v", got, want)
	}
}

// The clutch is switched off and on, the gear reported stays: whatever is noted is lock-up cycling. A
// gearbox that cannot make up its mind stays gear hunting.
func TestObservations_Gear(t *testing.T) {
	if testing.Short() {
		t.Skip("it drives for two simulated quarters of an hour")
	}
	for script, not := range map[drivetrain.Script]detect.ObservationKind{drivetrain.LockCycling: detect.GearHunting, drivetrain.GearHunting: detect.IrregularScatter} {
		live, _ := trip{script: script, length: 12 * time.Minute}.drive(t)
		all := live.Result().Observations
		if len(all) == 0 {
			t.Errorf("%s: nothing noted", script)
		}
		for _, o := range all {
			held := live.analysis.steps.second.keptGear(o.Start-gearAround, o.End+gearAround)
			if o.Kind == not || o.Kind == detect.GearHunting && held {
				t.Errorf("%s: %s at %v, one gear %v", script, o.Kind, o.Start, held)
			}
		}
	}
}
