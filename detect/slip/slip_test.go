package slip

import (
	"math"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/series"
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
		"slip at 250/s":        slipDrive(250, vehicle.RoleSlip, slipBurst, nil, always(detect.Judged)),
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

// alternate is n readings over 2.75 s that go up and down by so many rpm peak to peak about a mean, and stay
// where they are after so many turns: they hold turns − 1 such swings.
func alternate(w *Watch, n, turns int, mean, peakToPeak float64) {
	for i := range n {
		up := float64(min(i, turns-1) % 2)
		w.slip.Add(series.Reading{T: 2.75 * float64(i) / float64(n-1), V: mean + peakToPeak*(up-0.5)})
	}
}

// The limits of a look, at the limit and beside it: 8 readings, of which a third swing counts and from 12 on
// a fourth; 40 rpm, and twice the doubt more where slip is not read; up to 150 rpm of slip, and at least as
// much as the doubt. Two looks make a stretch.
func TestSlipWatch_Limits(t *testing.T) {
	for _, c := range []struct {
		name             string
		n, turns         int
		mean, swing, not float64 // not is the doubt, rpm
		want             bool
	}{
		{"8 readings", 8, 8, 0, 100, 0, true}, {"7 readings", 7, 7, 0, 100, 0, false},
		{"third swing of 11 readings", 11, 4, 0, 70, 0, true}, {"third swing of 12", 12, 4, 0, 70, 0, false}, {"fourth of 12", 12, 5, 0, 70, 0, true},
		{"40 rpm", 12, 12, 0, 43, 0, true}, {"less", 12, 12, 0, 39, 0, false},
		{"doubt of 10 rpm: 60 are wanted", 12, 12, 20, 55, 10, false}, {"and found", 12, 12, 20, 66, 10, true},
		{"open: 150 rpm", 12, 12, 150, 100, 0, true}, {"more", 12, 12, 151, 100, 0, false}, {"driven by the wheels", 12, 12, -150, 100, 0, true}, {"more", 12, 12, -151, 100, 0, false},
		{"as sharp as its doubt", 12, 12, 10, 100, 10, true}, {"less sharp", 12, 12, 9, 100, 10, false}, {"a little of slip that was read", 12, 12, -9, 100, 0, true},
	} {
		w := NewWatch()
		w.doubt = c.not
		alternate(w, c.n, c.turns, c.mean, c.swing)
		if w.look(3); len(w.Found()) != 0 {
			t.Errorf("%s: found at the first look", c.name)
		}
		if w.look(3); (len(w.Found()) == 1) != c.want {
			t.Errorf("%s: %+v", c.name, w.Found())
		}
	}
}

// Slip is engine speed less turbine speed, read at most 0.3 s apart; of readings of one time the first
// counts; looks are 0.2 s apart; a wanted slip is steady within 10 rpm.
func TestSlipWatch_Readings(t *testing.T) {
	w := NewWatch()
	push := func(t, v float64, role vehicle.Role) (float64, bool) {
		w.Push(pids.Sample{At: time.Duration(t * 1e9), Signal: pids.RPM, Value: v}, role, detect.Judged)
		_, rpm, ok := w.Now()
		return rpm, ok
	}
	if rpm, ok := push(0, 1600, vehicle.RoleTurbineSpeed); ok {
		t.Errorf("slip %v without engine speed", rpm)
	}
	push(0, 1700, vehicle.NoRole)
	for _, c := range []struct{ t, turbine, want float64 }{{0.3, 1650, 50}, {0.3, 1600, 50}, {0.31, 1600, 50}} {
		if rpm, _ := push(c.t, c.turbine, vehicle.RoleTurbineSpeed); rpm != c.want {
			t.Errorf("turbine at %v rpm, %v s after engine speed: slip %v, want %v", c.turbine, c.t, rpm, c.want)
		}
	}
	w = NewWatch()
	for _, c := range []struct{ t, look float64 }{{0, 0}, {0.1, 0}, {0.2, 0.2}, {0.3, 0.2}} {
		if push(c.t, 20, vehicle.RoleSlip); w.lookT != c.look {
			t.Errorf("at %v s the last look is of %v, want %v", c.t, w.lookT, c.look)
		}
	}
	for _, c := range []struct {
		wanted float64
		steady bool
	}{{30, true}, {40, true}, {41, false}} {
		if push(1, c.wanted, vehicle.RoleWantedSlip); w.wantedSteady(1) != c.steady {
			t.Errorf("30 to %v rpm wanted: steady %v", c.wanted, !c.steady)
		}
	}
}

// A swing reaches from the first to the last reading that is as far from the line as is asked; swings 2.5 s
// apart are one stretch.
func TestSlipWatch_Stretch(t *testing.T) {
	flat := []series.Reading{{T: 0, V: 29}, {T: 1, V: -30}, {T: 2, V: 10}, {T: 3, V: 30}, {T: 4, V: -29}}
	if first, last := reach(flat, 30); first != 1 || last != 3 {
		t.Errorf("from %v to %v s, want 1 to 3", first, last)
	}
	w := NewWatch()
	w.book(1, 3, 80, 20, 12)
	w.book(3+slipJoin, 7, 60, 30, 9)
	w.book(6, 6.5, 70, 25, 11)
	w.book(7+slipJoin+0.125, 11, 50, 10, 8)
	if f := w.Found(); len(f) != 2 || f[0].Start != time.Second || f[0].End != 7*time.Second || f[0].SwingRPM != 80 || f[0].MeanRPM != 25 || f[0].Readings != 12 {
		t.Errorf("%+v", f)
	}
}
