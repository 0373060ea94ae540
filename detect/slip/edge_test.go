package slip

import (
	"math"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
)

// Engine speed for each km/h is final drive × 1000/60 ÷ what the car rolls for a turn of a wheel
// (arithmetic: 4.1 × 16.667 ÷ 2 = 34.17); with one of them missing it is not known.
func TestDriveline(t *testing.T) {
	for _, tt := range []struct {
		final, tyre, want float64
	}{{4.1, 2, 34.16667}, {0, 2, 0}, {4.1, 0, 0}, {0, 0, 0}, {-4, 2, 0}, {4.1, -2, 0}} {
		if got := (Driveline{FinalDrive: tt.final, TyreM: tt.tyre}).rpmPerKMH(); math.Abs(got-tt.want) > 1e-4 {
			t.Errorf("final drive %v, tyre %v m: %v rpm, want %v", tt.final, tt.tyre, got, tt.want)
		}
	}
}

// Slip is sharp when it is larger than its uncertainty, and not when it is as large.
func TestSharp(t *testing.T) {
	for _, tt := range []struct {
		slip, doubt float64
		want        bool
	}{{10, 9, true}, {10, 10, false}, {9, 10, false}, {-20, 10, false}, {math.NaN(), 10, false}} {
		if got := (ApparentSlip{SlipRPM: tt.slip, PlusMinusRPM: tt.doubt}).Sharp(); got != tt.want {
			t.Errorf("%v ± %v rpm: sharp %v", tt.slip, tt.doubt, got)
		}
	}
}

// What is no number changes nothing, whatever signal it is of.
func TestApparent_NoNumber(t *testing.T) {
	a := NewApparent(Driveline{})
	for i := range 200 {
		pushCruise(a, i)
	}
	before := *a
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for _, s := range []pids.Signal{pids.RPM, pids.VSS, pids.GearRat, pids.GearAct} {
			if a.Push(pids.Sample{At: time.Hour, Signal: s, Value: v}, vehicle.NoRole, detect.Judged) {
				t.Errorf("%s %v was looked at", s, v)
			}
		}
	}
	if a.used != before.used || a.blocks != before.blocks || a.ratio != before.ratio {
		t.Error("what is no number left something behind")
	}
}

// A gear's number gives its ratio from the profile: from first to last, by $A4 or by the profile's own
// parameter, and not once the ratio itself is read.
func TestApparent_GearNumber(t *testing.T) {
	line := Driveline{Gears: []float64{4, 2, 1}}
	for _, tt := range []struct {
		signal pids.Signal
		role   vehicle.Role
		number float64
		want   float64
	}{
		{pids.GearAct, vehicle.NoRole, 1, 4}, {pids.GearAct, vehicle.NoRole, 3, 1}, {"GEAR", vehicle.RoleGear, 2, 2},
		{pids.GearAct, vehicle.NoRole, 0, 0}, {pids.GearAct, vehicle.NoRole, 4, 0}, {"GEAR", vehicle.NoRole, 2, 0},
	} {
		a := NewApparent(line)
		a.Push(pids.Sample{At: time.Second, Signal: tt.signal, Value: tt.number}, tt.role, detect.Judged)
		if a.ratio != tt.want {
			t.Errorf("%s %v with role %v: ratio %v, want %v", tt.signal, tt.number, tt.role, a.ratio, tt.want)
		}
		a.Push(pids.Sample{At: time.Second, Signal: pids.GearRat, Value: 0.7}, vehicle.NoRole, detect.Judged)
		a.Push(pids.Sample{At: time.Second, Signal: tt.signal, Value: tt.number}, tt.role, detect.Judged)
		if a.ratio != 0.7 {
			t.Errorf("%s %v: ratio %v beside one that was read, 0.7", tt.signal, tt.number, a.ratio)
		}
	}
}

// A gear that moves by more than half a per cent ends the steady stretch; less is rounding.
func TestApparent_GearMoves(t *testing.T) {
	for _, tt := range []struct {
		ratio float64
		ends  bool
	}{{1.004, false}, {0.996, false}, {1.006, true}, {0.994, true}, {1.3, true}} {
		a := NewApparent(Driveline{})
		a.gear(0, 1)
		for i := range 200 {
			pushCruise(a, i)
		}
		if a.gear(20, tt.ratio); (a.used == 0) != tt.ends {
			t.Errorf("1 to %v: %d blocks stay", tt.ratio, a.used)
		}
	}
}

// A window is mean and standard deviation of its readings, population as the text books have it: 1600
// and 1800 rpm by turns are 1700 ± 100.
func TestApparent_Window(t *testing.T) {
	a := NewApparent(Driveline{})
	for i := range 60 {
		at := time.Duration(i) * 50 * time.Millisecond
		a.Push(pids.Sample{At: at, Signal: pids.RPM, Value: 1600 + 200*float64(i%2)}, vehicle.NoRole, detect.Judged)
		a.Push(pids.Sample{At: at, Signal: pids.VSS, Value: 79 + float64(i/20)}, vehicle.NoRole, detect.Judged)
	}
	w, ok := a.window()
	if !ok || math.Abs(w.rpm-1700) > 1e-9 || math.Abs(w.scatter-100) > 1e-6 || math.Abs(w.kmh-80) > 1e-9 {
		t.Errorf("%v rpm, scatter %v, %v km/h, %v; want 1700, 100, 80", w.rpm, w.scatter, w.kmh, ok)
	}
	if w.low != 79 || w.high != 81 || w.changes != 3 || w.seconds != 3 || math.Abs(w.x-math.Log(1700./80)) > 1e-9 {
		t.Errorf("%v to %v km/h, %v changes, %v s, ln ratio %v", w.low, w.high, w.changes, w.seconds, w.x)
	}
}

// A held ratio is told as the mean of what was booked in it, with the seconds and the mean road speed.
func TestRatios_Peak(t *testing.T) {
	var r ratios
	x := binMiddle(500)
	r.add(x+0.001, 4, 1, 60)
	r.add(x+ratioBin, 4, 2, 100)
	r.add(x-0.5, 1, 1, 80)
	r.add(ratioLow-1, 9, 9, 9)                  // below all bins
	r.add(ratioLow+ratioBin*ratioBins, 9, 9, 9) // above
	p, ok := r.lowest(x-0.1, x+0.1)
	if !ok || math.Abs(p.x-(x+(0.001+ratioBin)/2)) > 1e-6 || math.Abs(p.held-8) > 1e-6 || p.n != 3 || math.Abs(p.kmh-80) > 1e-4 {
		t.Errorf("%+v, %v; want ln ratio %v held 8 s at 80 km/h, 3 looks", p, ok, x+(0.001+ratioBin)/2)
	}
	if _, ok := r.lowest(x-0.6, x-0.4); ok {
		t.Error("one second is no peak")
	}
	if _, ok := r.lowest(9, 10); ok {
		t.Error("a peak beyond all bins")
	}
	want := math.Hypot(ratioFloor, speedRounding/80/math.Sqrt(3))
	if got := p.doubt(); math.Abs(got-want) > 1e-6 {
		t.Errorf("doubt %v, want %v", got, want)
	}
	if got := (&peak{}).doubt(); got != 0 {
		t.Errorf("doubt %v of nothing", got)
	}
}

// The ratio under another: the lower of two of one gear, the upper where they are two gears, and not
// known where the upper was held for long as far above as an open converter.
func TestRatios_Under(t *testing.T) {
	for _, tt := range []struct {
		gap, held float64 // of the upper above the lower, ln, and how long it was held
		at        float64 // where the car is, above the lower
		upper, ok bool
	}{
		{0.03, 60, 0.03, false, true},  // slip of one gear
		{0.06, 10, 0.06, false, true},  // open, and held shortly
		{0.06, 60, 0.06, false, false}, // another gear, or open
		{0.15, 60, 0.15, true, true},   // another gear
		{0.06, 10, 0.01, false, true},
		{0.15, 60, 0.12, false, false}, // between two gears, too far above the lower
	} {
		var r ratios
		x := binMiddle(500)
		r.add(x, 60, 1, 80)
		r.add(x+tt.gap, tt.held, 1, 80)
		p, ok := r.under(x + tt.at)
		if ok != tt.ok || ok && (p.x > x+tt.gap/2) != tt.upper {
			t.Errorf("%+v: ln ratio %v above the lower, %v", tt, p.x-x, ok)
		}
	}
}
