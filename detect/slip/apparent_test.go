package slip

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
)

// perKMH is 1700 rpm at 80 km/h (arithmetic).
const perKMH = 21.25

// slowWave is a cruise whose speed wanders by ±8 km/h about 80, so that its whole numbers
// change as in a real one.
func slowWave(t float64) float64 { return 80 + 8*math.Sin(2*math.Pi*t/240) }

// formulaDrive is a cruise by formula: true road speed, ratio of engine to road speed, slip, and the
// gear's ratio as read, 0 for not read. Engine speed has a scatter of ±6 rpm.
type formulaDrive struct {
	speed      func(t float64) float64
	ratio      func(t float64) float64
	slip       func(t float64) float64
	gear       func(t float64) float64
	why        func(t float64) detect.Reason
	until      float64
	afterwards func(t float64, a *Apparent)
}

func (c formulaDrive) drive(a *Apparent) *Apparent {
	nextGear := 0.0
	for i := 0; ; i++ {
		t := float64(i) / 10
		if t > c.until {
			return a
		}
		why := detect.Judged
		if c.why != nil {
			why = c.why(t)
		}
		at := time.Duration(t * float64(time.Second))
		v, slip := c.speed(t), 0.0
		if c.slip != nil {
			slip = c.slip(t)
		}
		if c.gear != nil && t >= nextGear {
			nextGear = t + 1
			a.Push(pids.Sample{At: at, Signal: pids.GearRat, Value: c.gear(t)}, vehicle.NoRole, why)
		}
		if i%3 == 0 {
			a.Push(pids.Sample{At: at, Signal: pids.VSS, Value: math.Round(v)}, vehicle.NoRole, why)
		}
		a.Push(pids.Sample{At: at, Signal: pids.RPM, Value: v*c.ratio(t) + slip + 6*math.Sin(float64(i)*1.9)}, vehicle.NoRole, why)
		if c.afterwards != nil {
			c.afterwards(t, a)
		}
	}
}

func constant(x float64) func(float64) float64 { return func(float64) float64 { return x } }

// stepAt is a before t0 and b after.
func stepAt(t0, a, b float64) func(float64) float64 {
	return func(t float64) float64 {
		if t < t0 {
			return a
		}
		return b
	}
}

// The rounding of road speed to whole km/h alone is 1/√12 km/h r.m.s. (uniform), 6.1 rpm at
// 1700 rpm and 80 km/h, so ±12 for two standard deviations; 60 rpm of slip is then known.
func TestApparent_SlipIsTold(t *testing.T) {
	const least, most = 7, 22 // rpm, of the uncertainty
	sharp, looks, wrong := 0, 0, 0
	c := formulaDrive{speed: slowWave, ratio: constant(perKMH), slip: stepAt(400, 0, 60), until: 460,
		afterwards: func(now float64, a *Apparent) {
			s := a.Now()
			switch {
			case now < peakLeast && !math.IsNaN(s.SlipRPM):
				t.Fatalf("at %v s %v rpm, with nothing learnt", now, s.SlipRPM)
			case now > 100 && now < 400 || now > 404:
				looks++
				if s.PlusMinusRPM < least || s.PlusMinusRPM > most {
					t.Fatalf("at %v s ±%v rpm", now, s.PlusMinusRPM)
				}
				truth := 0.0
				if now > 400 {
					truth = 60
				}
				if math.Abs(s.SlipRPM-truth) > s.PlusMinusRPM {
					wrong++
				}
				if now > 404 && s.Sharp() {
					sharp++
				}
			}
		}}
	a := c.drive(NewApparent(Driveline{}))
	if wrong > looks/20 {
		t.Errorf("outside its uncertainty in %d of %d looks", wrong, looks)
	}
	if sharp < 500 {
		t.Errorf("60 rpm sharp in %d of 560 readings", sharp)
	}
	f := a.Found()
	if len(f) != 1 || math.Abs(f[0].MeanRPM-60) > 8 || f[0].Start < 396*time.Second || f[0].End < 458*time.Second {
		t.Errorf("stretches: %+v", f)
	}
	l := a.Locked()
	if len(l) != 1 || math.Abs(l[0].RPMPerKMH/perKMH-1) > 0.004 || l[0].Held < 300*time.Second {
		t.Errorf("locked ratios: %+v", l)
	}
}

// What ratios that were held some distance apart mean: less than a gear is the same gear
// slipping, more is a gear of its own, and between the two it cannot be told — unless the
// gear is read. An open converter at a light cruise slips by 5 to 10 % of engine speed
// (computed from a public converter table).
func TestApparent_TwoHeldRatios(t *testing.T) {
	at := func(share float64, gear func(float64) float64) ApparentSlip {
		c := formulaDrive{speed: slowWave, ratio: stepAt(300, perKMH, perKMH*math.Exp(share)), gear: gear, until: 600}
		return c.drive(NewApparent(Driveline{})).Now()
	}
	if s := at(0.03, nil); math.Abs(s.SlipRPM-0.03*s.LockedRPM) > s.PlusMinusRPM || !s.Sharp() {
		t.Errorf("3 %%: %+v", s)
	}
	if s := at(0.07, nil); !math.IsNaN(s.SlipRPM) || s.Sharp() {
		t.Errorf("7 %%, gear not known: %+v", s)
	}
	if s := at(0.07, constant(0.75)); !s.GearKnown || math.Abs(s.SlipRPM-0.07*s.LockedRPM) > 1.2*s.PlusMinusRPM || !s.Sharp() {
		t.Errorf("7 %%, gear known: %+v", s)
	}
	if s := at(0.07, stepAt(300, 0.75, 0.75*math.Exp(0.07))); math.Abs(s.SlipRPM) > s.PlusMinusRPM {
		t.Errorf("7 %%, the gear's own step: %+v", s)
	}
	if s := at(0.16, nil); math.Abs(s.SlipRPM) > s.PlusMinusRPM {
		t.Errorf("16 %%, a gear: %+v", s)
	}
}

// With the gear known, what was learnt in one gear holds in all.
func TestApparent_OneDrivelineForAllGears(t *testing.T) {
	c := formulaDrive{speed: slowWave, ratio: stepAt(100, perKMH, perKMH/0.69), gear: stepAt(100, 0.69, 1), slip: stepAt(100, 0, 80), until: 106}
	s := c.drive(NewApparent(Driveline{})).Now()
	if !s.GearKnown || !s.Sharp() || math.Abs(s.SlipRPM-80) > s.PlusMinusRPM {
		t.Errorf("%+v", s)
	}
}

// PID $A4 with ratio 0.690 (41 A4 03 60 02 B2: 0x02B2 = 690, 0.001 a bit, SAE J1979) in a car
// with final drive 3.73 on 225/65R17, 80 km/h: 0.96 π (17·25.4 + 2·225·0.65) mm = 2.184 m for
// a turn, 610.4 turns a minute, 1571 rpm (computed here).
func TestApparent_FromProfile(t *testing.T) {
	const tolerance = 1 // rpm
	values, err := pids.Lookup(0xA4).Append(nil, []byte{0x03, 0x60, 0x02, 0xB2})
	if err != nil {
		t.Fatal(err)
	}
	v := vehicle.Driveline{Tyre: "225/65R17", FinalDrive: 3.73}
	line := Driveline{FinalDrive: v.FinalDrive, TyreM: v.TyreCircumference(), Gears: []float64{4.58, 2.96, 1.91, 1.45, 1, 0.69}}
	drive := func(signal pids.Signal, role vehicle.Role, value float64) ApparentSlip {
		a := NewApparent(line)
		for i := range 30 {
			at := time.Duration(i) * 100 * time.Millisecond
			a.Push(pids.Sample{At: at, Signal: signal, Value: value}, role, detect.Judged)
			a.Push(pids.Sample{At: at, Signal: pids.VSS, Value: 80}, vehicle.NoRole, detect.Judged)
			a.Push(pids.Sample{At: at, Signal: pids.RPM, Value: 1671}, vehicle.NoRole, detect.Judged)
		}
		return a.Now()
	}
	for _, x := range values {
		if x.Field.Signal != pids.GearRat {
			continue
		}
		s := drive(pids.GearRat, vehicle.NoRole, x.Value)
		if math.Abs(s.LockedRPM-1571) > tolerance || math.Abs(s.SlipRPM-100) > tolerance || !s.GearKnown {
			t.Errorf("ratio %v: %+v", x.Value, s)
		}
		// The profile's circumference is doubtful by 2 % (one standard deviation).
		if s.PlusMinusRPM < 2*0.02*1571 {
			t.Errorf("±%.0f rpm is less than the tyre's tolerance", s.PlusMinusRPM)
		}
	}
	for name, s := range map[string]ApparentSlip{"gear of $A4": drive(pids.GearAct, vehicle.NoRole, 6), "gear of the profile": drive("GEAR", vehicle.RoleGear, 6)} {
		if math.Abs(s.LockedRPM-1571) > tolerance {
			t.Errorf("%s: %+v", name, s)
		}
	}
	if s := drive(pids.GearAct, vehicle.NoRole, 15); s.GearKnown {
		t.Errorf("a gear that the car does not have: %+v", s)
	}
}

// A tyre that is 1 % off is learnt; a car that never locks is not taken for locked where the
// profile says how it would be.
func TestApparent_ProfileAndLearning(t *testing.T) {
	line := Driveline{FinalDrive: 3.73, TyreM: 2.184}
	truth := line.rpmPerKMH() * 0.69
	c := formulaDrive{speed: slowWave, ratio: constant(truth * 1.01), gear: constant(0.69), until: 300}
	if s := c.drive(NewApparent(line)).Now(); math.Abs(s.SlipRPM) > s.PlusMinusRPM || s.PlusMinusRPM > 25 {
		t.Errorf("1 %% off: %+v", s)
	}
	c.ratio = constant(truth * 1.08)
	if s := c.drive(NewApparent(line)).Now(); !s.Sharp() || math.Abs(s.SlipRPM-0.08*s.LockedRPM) > 2 {
		t.Errorf("never locks: %+v", s)
	}
}

// Nothing is told or learnt while the throttle is closed, and a gear that has gone silent is
// not held against engine speed for long.
func TestApparent_OnlySteadyDriving(t *testing.T) {
	c := formulaDrive{speed: slowWave, ratio: constant(perKMH * 0.95), until: 300, why: always(detect.ClosedThrottle)}
	a := c.drive(NewApparent(Driveline{}))
	if s := a.Now(); !math.IsNaN(s.SlipRPM) || !math.IsNaN(s.PlusMinusRPM) || s.Sharp() || len(a.Locked()) != 0 {
		t.Errorf("%+v, %+v", s, a.Locked())
	}
	silent := true
	c = formulaDrive{speed: slowWave, ratio: constant(perKMH), until: 130, gear: constant(1), afterwards: func(now float64, a *Apparent) {
		if now > 125 {
			silent = silent && a.Now().GearKnown
		}
	}}
	c.drive(NewApparent(Driveline{}))
	if !silent {
		t.Error("the gear was read and is not known")
	}
	a = NewApparent(Driveline{})
	a.Push(pids.Sample{Signal: pids.GearRat, Value: 1}, vehicle.NoRole, detect.Judged)
	c.gear = nil
	if s := c.drive(a).Now(); s.GearKnown {
		t.Errorf("a gear read two minutes ago: %+v", s)
	}
}

// Slip told from the gear is judged by the watch for slip that was read: a clutch that grabs
// and releases about 60 rpm is found; a locked one whose engine swings as much is not.
func TestSlipWatch_Apparent(t *testing.T) {
	run := func(slip func(t float64) float64) []Swing {
		w := NewWatch()
		c := formulaDrive{speed: constant(80), ratio: constant(perKMH), gear: constant(0.75), slip: slip, until: 320}
		c.afterwards = func(now float64, a *Apparent) {
			at := time.Duration(now * float64(time.Second))
			w.PushApparent(pids.Sample{At: at, Signal: pids.RPM, Value: 80*perKMH + slip(now)}, a.Now(), detect.Judged)
			w.PushApparent(pids.Sample{At: at, Signal: pids.VSS, Value: 80}, a.Now(), detect.Judged)
		}
		c.drive(NewApparent(Driveline{}))
		return w.Found()
	}
	wave := func(mean float64) func(float64) float64 {
		return func(t float64) float64 {
			if t < 300 || t > 306 {
				return 0
			}
			return mean + 60*math.Sin(2*math.Pi*1.9*t)
		}
	}
	f := run(wave(60))
	if len(f) != 1 || f[0].ApparentRPM <= 0 || f[0].SwingRPM < 100 || f[0].Start < 299*time.Second || f[0].End > 308*time.Second {
		t.Errorf("grab and release: %+v", f)
	}
	if f := run(wave(0)); len(f) != 0 {
		t.Errorf("locked: %+v", f)
	}
}

func TestApparent_AllocatesNothing(t *testing.T) {
	a := NewApparent(Driveline{})
	i := 0
	if n := testing.AllocsPerRun(5000, func() { i = pushCruise(a, i) }); n != 0 {
		t.Errorf("%v allocations a sample", n)
	}
}

// pushCruise pushes sample i of an even cruise.
func pushCruise(a *Apparent, i int) int {
	at := time.Duration(i) * 25 * time.Millisecond
	s := pids.Sample{At: at, Signal: pids.RPM, Value: 1700 + float64(i%7)}
	switch i % 4 {
	case 1:
		s.Signal, s.Value = pids.VSS, 80+float64(i/400%3)
	case 2:
		s.Signal, s.Value = pids.TP, 20
	}
	a.Push(s, vehicle.NoRole, detect.Judged)
	return i + 1
}

func BenchmarkApparentPush(b *testing.B) {
	a := NewApparent(Driveline{})
	b.ReportAllocs()
	for i := 0; b.Loop(); {
		i = pushCruise(a, i)
	}
}

func FuzzApparent(f *testing.F) {
	f.Add([]byte{1, 2, 3, 200, 80, 90, 4, 5})
	signals := []pids.Signal{pids.RPM, pids.VSS, pids.GearRat, pids.GearAct}
	f.Fuzz(func(t *testing.T, data []byte) {
		a := NewApparent(Driveline{FinalDrive: 3, TyreM: 2, Gears: []float64{3, 1}})
		at := time.Duration(0)
		for i := 0; i+2 < len(data); i += 3 {
			at += time.Duration(data[i]) * 5 * time.Millisecond
			v := float64(data[i+1]) * []float64{20, 1, 0.05, 1}[data[i+2]&3]
			if data[i+1] == 255 {
				v = math.Inf(1)
			}
			a.Push(pids.Sample{At: at, Signal: signals[data[i+2]&3], Value: v}, vehicle.NoRole, detect.Reason(data[i+2]>>7))
			if s := a.Now(); math.IsNaN(s.SlipRPM) != math.IsNaN(s.PlusMinusRPM) || s.PlusMinusRPM < 0 || math.IsInf(s.SlipRPM, 0) {
				t.Fatalf("%+v", s)
			}
		}
		a.Locked()
	})
}

func ExampleApparent() {
	a := NewApparent(Driveline{})
	for i := range 1200 { // two minutes at 80 km/h, locked but for the last ten seconds
		at := time.Duration(i) * 100 * time.Millisecond
		rpm := 1700.0
		if i > 1100 {
			rpm += 90
		}
		a.Push(pids.Sample{At: at, Signal: pids.VSS, Value: 80}, vehicle.NoRole, detect.Judged)
		a.Push(pids.Sample{At: at, Signal: pids.RPM, Value: rpm}, vehicle.NoRole, detect.Judged)
	}
	s := a.Now()
	fmt.Printf("%.0f ± %.0f rpm, sharp: %v\n", s.SlipRPM, s.PlusMinusRPM, s.Sharp())
	// Output: 90 ± 19 rpm, sharp: true
}
