package slip

import (
	"math"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
)

// slipDrive pushes ten minutes of slip at a rate and returns what was found.
func slipDrive(rate float64, role vehicle.Role, value func(t float64) float64, wanted func(t float64) float64, why func(t float64) detect.Reason) []Swing {
	w := NewWatch()
	for i := 0; ; i++ {
		t := float64(i) / rate
		if t > 600 {
			return w.Found()
		}
		at := time.Duration(t * float64(time.Second))
		if role == vehicle.RoleTurbineSpeed {
			w.Push(pids.Sample{At: at, Signal: pids.RPM, Value: 1700}, vehicle.NoRole, why(t))
		}
		if wanted != nil {
			w.Push(pids.Sample{At: at, Signal: "WANTED", Value: wanted(t)}, vehicle.RoleWantedSlip, why(t))
		}
		w.Push(pids.Sample{At: at, Signal: "SLIP", Value: value(t)}, role, why(t))
	}
}

func always(r detect.Reason) func(float64) detect.Reason {
	return func(float64) detect.Reason { return r }
}

// slipBurst is a burst of 100 rpm peak to peak at 2 Hz between 300 and 304 s, about 20 rpm wanted slip
// (made-up signal, its answer known by formula).
func slipBurst(t float64) float64 {
	if t < 300 || t > 304 {
		return 20 + 2*math.Sin(t)
	}
	return 20 + 50*math.Sin(2*math.Pi*2*(t-300))
}

func TestSlipWatch_FindsABurst(t *testing.T) {
	const tolerance = 0.4 // s, of the ends
	steady := func(float64) float64 { return 20 }
	for name, found := range map[string][]Swing{
		"slip at 5/s":          slipDrive(5.3, vehicle.RoleSlip, slipBurst, steady, always(detect.Judged)),
		"slip at 10/s":         slipDrive(10, vehicle.RoleSlip, slipBurst, nil, always(detect.Judged)),
		"turbine speed at 8/s": slipDrive(8.3, vehicle.RoleTurbineSpeed, func(t float64) float64 { return 1700 - slipBurst(t) }, nil, always(detect.Judged)),
	} {
		if len(found) != 1 {
			t.Errorf("%s: %d stretches: %+v", name, len(found), found)
			continue
		}
		f := found[0]
		if math.Abs(f.Start.Seconds()-300) > tolerance || math.Abs(f.End.Seconds()-304) > tolerance {
			t.Errorf("%s: %v to %v", name, f.Start, f.End)
		}
		if f.SwingRPM < 75 || f.SwingRPM > 105 {
			t.Errorf("%s: swing %.0f rpm of 100", name, f.SwingRPM)
		}
	}
}

// What is no finding: a healthy lock within ±20 rpm (makers' service information on P0742),
// an open clutch, a wanted slip that moves itself, a moment that may not be judged, and too
// few readings.
func TestSlipWatch_Innocent(t *testing.T) {
	wave := func(mean, peak float64) func(float64) float64 {
		return func(t float64) float64 { return mean + peak*math.Sin(2*math.Pi*1.7*t) }
	}
	for name, found := range map[string][]Swing{
		"locked":        slipDrive(10, vehicle.RoleSlip, wave(0, 19), nil, always(detect.Judged)),
		"open":          slipDrive(10, vehicle.RoleSlip, wave(250, 60), nil, always(detect.Judged)),
		"wanted moves":  slipDrive(10, vehicle.RoleSlip, wave(30, 50), wave(30, 25), always(detect.Judged)),
		"not judged":    slipDrive(10, vehicle.RoleSlip, wave(20, 60), nil, always(detect.ThrottleMoving)),
		"too few":       slipDrive(2, vehicle.RoleSlip, wave(20, 60), nil, always(detect.Judged)),
		"not a number":  slipDrive(10, vehicle.RoleSlip, func(float64) float64 { return math.NaN() }, nil, always(detect.Judged)),
		"one step only": slipDrive(10, vehicle.RoleSlip, func(t float64) float64 { return math.Mod(math.Floor(t/20), 2) * 90 }, nil, always(detect.Judged)),
	} {
		if len(found) != 0 {
			t.Errorf("%s: %+v", name, found)
		}
	}
}
