package slip

import (
	"math"
	"slices"
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
		if got := (Driveline{FinalDrive: tt.final, TyreM: tt.tyre}).rpmPerKMH(); !(math.Abs(got-tt.want) <= 1e-4) {
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

// A gear that moves by more than half a per cent ends the steady stretch; less is rounding. A car that
// gives no ratio and answers 0 all the time has no gear that moves.
func TestApparent_GearMoves(t *testing.T) {
	for _, tt := range []struct {
		from, to float64
		ends     bool
	}{
		{1, 1.004, false}, {1, 0.996, false}, {1, 1.006, true}, {1, 0.994, true}, {1, 1.3, true}, {0, 0, false}, {0, 1, true},
		{4, 4.016, false}, {4, 4.024, true}, {0.5, 0.502, false}, {0.5, 0.504, true}, // the same shares of first and of top gear
	} {
		a := NewApparent(Driveline{})
		a.gear(0, tt.from)
		for i := range 200 {
			pushCruise(a, i)
		}
		if a.gear(20, tt.to); (a.used == 0) != tt.ends {
			t.Errorf("%v to %v: %d blocks stay", tt.from, tt.to, a.used)
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
	if !ok || !(math.Abs(w.rpm-1700) <= 1e-9) || !(math.Abs(w.scatter-100) <= 1e-6) || !(math.Abs(w.kmh-80) <= 1e-9) {
		t.Errorf("%v rpm, scatter %v, %v km/h, %v; want 1700, 100, 80", w.rpm, w.scatter, w.kmh, ok)
	}
	if w.low != 79 || w.high != 81 || w.changes != 3 || w.seconds != 3 || !(math.Abs(w.x-math.Log(1700./80)) <= 1e-9) {
		t.Errorf("%v to %v km/h, %v changes, %v s, ln ratio %v", w.low, w.high, w.changes, w.seconds, w.x)
	}
}

// A held ratio is reported as the mean of what was booked in it, with the seconds and the mean road speed.
func TestRatios_Peak(t *testing.T) {
	var r ratios
	x := binMiddle(500)
	r.add(x+0.001, 4, 1, 60)
	r.add(x+ratioBin, 4, 2, 100)
	r.add(x-0.5, 1, 1, 80)
	r.add(ratioLow-1, 9, 9, 9)                  // below all bins
	r.add(ratioLow+ratioBin*ratioBins, 9, 9, 9) // above
	p, ok := r.lowest(x-0.1, x+0.1)
	if !ok || !(math.Abs(p.x-(x+(0.001+ratioBin)/2)) <= 1e-6) || !(math.Abs(p.held-8) <= 1e-6) || p.n != 3 || !(math.Abs(p.kmh-80) <= 1e-4) {
		t.Errorf("%+v, %v; want ln ratio %v held 8 s at 80 km/h, 3 looks", p, ok, x+(0.001+ratioBin)/2)
	}
	if _, ok := r.lowest(x-0.6, x-0.4); ok {
		t.Error("one second is no peak")
	}
	if _, ok := r.lowest(9, 10); ok {
		t.Error("a peak beyond all bins")
	}
	want := math.Hypot(ratioFloor, speedRounding/80/math.Sqrt(3))
	if got := p.doubt(); !(math.Abs(got-want) <= 1e-6) {
		t.Errorf("doubt %v, want %v", got, want)
	}
	if got := (&peak{}).doubt(); got != 0 {
		t.Errorf("doubt %v of nothing", got)
	}
}

// A bin belongs to the peaks within two bins of it; of equal sums the lowest is the peak, and 5 s and 4 %
// of all are enough. Sums by hand.
func TestRatios_IsPeak(t *testing.T) {
	type held map[int]float32
	for _, tt := range []struct {
		held held
		want []int
	}{
		{held{100: 10}, []int{98}}, {held{100: 5}, []int{98}}, {held{100: 4.5}, nil},
		{held{98: 2, 102: 3}, []int{100}}, {held{97: 3, 102: 3}, nil}, // five bins are one peak, six are not
		{held{100: 10, 102: 20}, []int{100}}, // one peak of both, not the edge of it
		{held{100: 20, 106: 10}, []int{98}},  // the smaller one is too near
		{held{100: 20, 107: 10}, []int{98, 105}},
		{held{100: 192, 200: 8}, []int{98, 198}}, {held{100: 193, 200: 7}, []int{98}}, // 4 % of 200 s are 8
		{held{50: 192, 250: 8}, []int{48, 248}}, {held{50: 193, 250: 7}, []int{48}}, // seen at the ends, too
	} {
		var r ratios
		for i, h := range tt.held {
			r.held[i] = h
		}
		var got []int
		for i, least := 50-2, r.least(50, 250); i <= 250; i++ {
			if r.isPeak(i, least) {
				got = append(got, i)
			}
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%v: peaks %v, want %v", tt.held, got, tt.want)
		}
		for _, i := range tt.want { // a peak is found where it is looked for, and nowhere beside
			if _, ok := r.lowest(binMiddle(i), binMiddle(i)); !ok {
				t.Errorf("%v: no peak at bin %d", tt.held, i)
			}
		}
	}
	var r ratios
	for _, i := range []int{-1, 0, ratioBins - 1, ratioBins} {
		r.add(ratioLow+(float64(i)+0.5)*ratioBin, 1, 1, 80)
	}
	if r.held[0] != 1 || r.held[ratioBins-1] != 1 {
		t.Errorf("%v s in the first bin and %v in the last, want 1", r.held[0], r.held[ratioBins-1])
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
		{0.06, gearLeast, 0.06, false, false}, {0.06, gearLeast - 1, 0.06, false, true},
		{0.15, 60, 0.15, true, true}, // another gear
		{0.06, 10, 0.01, false, true},
		{0.15, 60, 0.12, false, false}, // between two gears, too far above the lower
	} {
		var r ratios
		x := binMiddle(500)
		r.add(x, 60, 1, 80)
		r.add(x+tt.gap, tt.held, 1, 80)
		r.add(x-0.5, 2000, 1, 80) // a gear so much higher that it does not matter
		p, ok := r.under(x + tt.at)
		if ok != tt.ok || ok && (p.x > x+tt.gap/2) != tt.upper {
			t.Errorf("%+v: ln ratio %v above the lower, %v", tt, p.x-x, ok)
		}
	}
	var r ratios
	r.add(binMiddle(3*peakBins), 60, 1, 80)
	if _, ok := r.under(binMiddle(2*peakBins) - belowLocked); !ok {
		t.Error("the lowest place of a ratio is not found")
	}
}

// blocks fills a window with blocks that are alike.
func blocks(used, rpms, speeds int, rpm, kmh float64) *Apparent {
	a := NewApparent(Driveline{})
	a.used = used
	for i := range used {
		b := &a.blocks[i]
		n, m := rpms/used, speeds/used
		if i < rpms%used {
			n++
		}
		if i < speeds%used {
			m++
		}
		*b = block{n: i, rpms: n, rpm: float64(n) * rpm, rpm2: float64(n) * rpm * rpm, speeds: m, kmh: float64(m) * kmh, changes: 2}
		if m > 0 {
			b.low, b.high = kmh, kmh
		}
	}
	return a
}

// A window needs 2 s, six readings of engine speed and two of road speed, 20 km/h and 60 rpm; each of
// these is enough, and less is not.
func TestApparent_WindowEnough(t *testing.T) {
	for _, tt := range []struct {
		a    *Apparent
		want bool
	}{
		{blocks(4, 6, 2, 1700, 80), true}, {blocks(3, 6, 2, 1700, 80), false}, {blocks(4, 5, 2, 1700, 80), false}, {blocks(4, 6, 1, 1700, 80), false},
		{blocks(4, 6, 2, 1700, 20), true}, {blocks(4, 6, 2, 1700, 19.9), false}, {blocks(4, 6, 2, 60, 80), true}, {blocks(4, 6, 2, 59, 80), false},
	} {
		if _, ok := tt.a.window(); ok != tt.want {
			t.Errorf("%d blocks: %+v: %v", tt.a.used, tt.a.blocks[0], ok)
		}
	}
	// The first look of a stretch counts once more: its road speed was not looked at before.
	if w, _ := blocks(4, 8, 4, 1700, 80).window(); w.fresh != 3 {
		t.Errorf("%v fresh looks in the first window, want 3", w.fresh)
	}
	if w, _ := blocks(5, 10, 5, 1700, 80).window(); w.fresh != 2 {
		t.Errorf("%v fresh looks in a later window, want 2", w.fresh)
	}
	// Road speed that comes once a second leaves every other block without; it is no standstill.
	if w, ok := blocks(6, 12, 3, 1700, 80).window(); !ok || w.low != 80 || w.high != 80 {
		t.Errorf("from %v to %v km/h at an even 80, %v", w.low, w.high, ok)
	}
}

// The uncertainty, by hand: at 1600 rpm and 80 km/h one km/h is 20 rpm. Rounding has 0.29 km/h, and half
// of it once road speed has changed three times; a lag of 0.2 s at 1.5 km/h a second is 0.3 km/h; scatter
// of 12 rpm in 9 readings is 4; a doubt of the ratio of 1 % is 16. Independent parts add by squares.
func TestApparent_Uncertainty(t *testing.T) {
	for _, tt := range []struct {
		changes, rise, scatter, doubt, sd float64
	}{
		{0, 0, 0, 0, 5.8}, {3, 0, 0, 0, 2.9}, {9, 0, 0, 0, 2.9}, // more changes than three are no more precise
		{3, 4.5, 0, 0, math.Hypot(2.9, 6)}, {3, 0, 12, 0, math.Hypot(2.9, 4)}, {3, 0, 0, 0.01, math.Hypot(2.9, 16)},
	} {
		a := NewApparent(Driveline{})
		a.estimate(10, &steadyWindow{rpm: 1600, kmh: 80, rpms: 9, seconds: 3, low: 80, high: 80 + tt.rise, changes: tt.changes, scatter: tt.scatter}, 0, tt.doubt, false)
		if got := a.Now(); !(math.Abs(got.PlusMinusRPM-2*tt.sd) <= 1e-9) || got.SlipRPM != 0 || got.LockedRPM != 1600 {
			t.Errorf("%+v: ±%v rpm about %v", tt, got.PlusMinusRPM, got.SlipRPM)
		}
	}
}

// A gear's ratio is known from 0.2 to 20 and for 3.5 s; what swings by 1.5 % or changes its speed by more
// than 3 km/h teaches nothing.
func TestApparent_Learns(t *testing.T) {
	sum := func(r *ratios) (n float64) {
		for _, h := range r.held {
			n += float64(h)
		}
		return n
	}
	for _, tt := range []struct {
		name             string
		ratio, age       float64
		rise, swing      float64
		byGear, bySpeeds bool
	}{
		{"known", 1, 1, 0, 0, true, true}, {"lowest", 0.2, 1, 0, 0, true, true}, {"too low", 0.19, 1, 0, 0, false, true},
		{"highest", 20, 1, 0, 0, true, true}, {"too high", 21, 1, 0, 0, false, true}, {"just fresh", 1, 3.5, 0, 0, true, true}, {"old", 1, 3.6, 0, 0, false, true},
		{"3 km/h faster", 1, 1, 3, 0, true, true}, {"4 km/h faster", 1, 1, 4, 0, false, false}, {"swings", 1, 1, 0, 40, false, false}, {"swings a little", 1, 1, 0, 10, true, true},
	} {
		kmh := 80.0
		if tt.ratio > 10 {
			kmh = 25 // so slow that such a ratio has a place
		}
		a := blocks(6, 12, 6, 1700, kmh)
		a.blocks[5].high += tt.rise
		for i := range a.blocks {
			a.blocks[i].rpm2 += float64(a.blocks[i].rpms) * tt.swing * tt.swing
		}
		a.ratio, a.ratioT = tt.ratio, 100-tt.age
		a.look(100)
		if gear, speed := sum(&a.byGear) > 0, sum(&a.bySpeed) > 0; gear != tt.byGear || speed != tt.bySpeeds {
			t.Errorf("%s: learnt by gear %v, by speed %v", tt.name, gear, speed)
		}
	}
}

// Three sharp looks in a row make a stretch, later ones widen it, and a pause or another way of knowing
// the gear begins a new one.
func TestApparent_Book(t *testing.T) {
	a := NewApparent(Driveline{})
	look := func(t, slip float64, gear bool) {
		a.now = ApparentSlip{At: time.Duration(t * 1e9), SlipRPM: slip, PlusMinusRPM: slip / 5, GearKnown: gear}
		if slip < 10 {
			a.now.PlusMinusRPM = 10
		}
		a.book(3)
	}
	for i, slip := range []float64{50, 70, 5, 60} { // the third is not sharp
		if look(10+0.5*float64(i), slip, false); (len(a.found) == 1) != (i == 3) {
			t.Fatalf("after %d looks %d stretches", i+1, len(a.found))
		}
	}
	want := Stretch{Start: 7 * time.Second, End: 11500 * time.Millisecond, MeanRPM: 60, HighRPM: 70, PlusMinusRPM: 12, looks: 3}
	if f := a.found[0]; f != want {
		t.Errorf("%+v\nwant %+v", f, want)
	}
	look(11.5+slipJoin, 80, false)
	if f := a.found[0]; len(a.found) != 1 || f.looks != 4 || f.MeanRPM != 65 || f.HighRPM != 80 || f.End.Seconds() != 11.5+slipJoin {
		t.Errorf("widened: %+v", f)
	}
	for i := range 3 {
		look(60+float64(i), 50, false)
	}
	for i := range 3 {
		look(63+float64(i), 50, true)
	}
	if len(a.found) != 3 || a.found[1].Start != 57*time.Second || !a.found[2].GearKnown {
		t.Errorf("%+v", a.found)
	}
	look(66, 40, true)
	if f := a.found[2]; f.looks != 4 || !(math.Abs(f.MeanRPM-47.5) <= 1e-9) || !(math.Abs(f.PlusMinusRPM-9.5) <= 1e-9) {
		t.Errorf("%+v", f)
	}
	a.found = make([]Stretch, foundMost-1) // the last place is taken, and no further one
	for i := range 9 {
		look(100+10*float64(i/3)+float64(i%3), 50, true)
	}
	if len(a.found) != foundMost || a.found[foundMost-1].End != 102*time.Second {
		t.Errorf("%d stretches kept, the last %+v", len(a.found), a.found[len(a.found)-1])
	}
}

// The ratios that were held are told once for each gear, lowest first, with how long.
func TestApparent_Locked(t *testing.T) {
	a := NewApparent(Driveline{})
	for _, x := range []float64{0, 0.05, 0.3, 0.45} { // the second is the first with its clutch open
		a.bySpeed.add(binMiddle(500)+x, 20, 1, 80)
	}
	got := a.Locked()
	if len(got) != 3 {
		t.Fatalf("%+v", got)
	}
	for i, x := range []float64{0, 0.3, 0.45} {
		want := math.Exp(binMiddle(500) + x)
		if !(math.Abs(got[i].RPMPerKMH-want) <= 1e-3*want) || !(math.Abs(got[i].Held.Seconds()-20) <= 1e-3) {
			t.Errorf("%+v, want %v rpm for each km/h, 20 s", got[i], want)
		}
	}
	// The lowest and the highest place of a ratio; a bin farther out has too few beside it.
	for bin, want := range map[int]int{3*peakBins - 1: 0, 3 * peakBins: 1, ratioBins - 1 - peakBins: 1, ratioBins - peakBins: 0} {
		a := NewApparent(Driveline{})
		a.bySpeed.add(binMiddle(bin), 20, 1, 80)
		if got := a.Locked(); len(got) != want {
			t.Errorf("bin %d of %d: %+v", bin, ratioBins, got)
		}
	}
}

// Blocks are half a second; a gap of more than two of them begins again, and so does time that runs back.
func TestApparent_Turn(t *testing.T) {
	for _, tt := range []struct {
		from, to float64
		used     int
		looked   bool
	}{{10, 10.4, 1, false}, {10, 10.5, 2, true}, {10, 11, 2, true}, {10, 11.5, 1, false}, {10, 9, 1, false}} {
		a := NewApparent(Driveline{})
		a.turn(tt.from, detect.Judged)
		if looked := a.turn(tt.to, detect.Judged); looked != tt.looked || a.used != tt.used {
			t.Errorf("%v to %v s: looked %v, %d blocks", tt.from, tt.to, looked, a.used)
		}
		for _, why := range []detect.Reason{detect.FloorNotLearnt, detect.LoadNotLearnt} {
			if a.turn(tt.to, why); a.used == 0 {
				t.Errorf("%v ends the steady stretch", why)
			}
		}
		if !a.turn(tt.to, detect.ThrottleMoving) || a.used != 0 || a.turn(tt.to, detect.ThrottleMoving) {
			t.Error("a moving throttle ends the steady stretch once")
		}
	}
}
