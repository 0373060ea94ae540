package drivetrain

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// locked is a world at rest in steady cruise, for effects taken alone.
func locked(overall, nm, rpm float64) *world {
	w := &world{vehicle: vehicle{car: exampleCar(), frame: frame{rpm: rpm, torque: nm, running: true, lock: 1,
		ratio: float32(overall), speed: 20, load: 0.5, engaged: engaged{gear: 6}}}}
	w.car.MaxTorqueNm = 190
	return w
}

// halfOrder returns the amplitude at rpm/120, one line of a Fourier sum.
func halfOrder(wave []float64, rpm float64) float64 {
	var re, im float64
	for i, x := range wave {
		turn := 2 * math.Pi * rpm / 120 * float64(i) * fastDT
		re += x * math.Cos(turn)
		im += x * math.Sin(turn)
	}
	return 2 * math.Hypot(re, im) / float64(len(wave))
}

// One dead cylinder of four, clutch locked, 1700 rpm: half-order amplitude 17–26 rpm at
// 60–150 Nm (computed for this project, ±30 %), at rpm/120 = 14.2 Hz.
func TestMisfire_HalfOrder(t *testing.T) {
	const tolerance = 0.3
	for _, c := range []struct{ nm, low, high float64 }{{60, 17, 26}, {100, 17, 26}, {150, 17, 26}} {
		w := locked(3, c.nm, 1700)
		m := newMisfire(Fault{Kind: FaultMisfire, MissShare: 1}, &w.car, rand.New(rand.NewPCG(1, 1)))
		m.slow(w)
		var wave []float64
		for range 4000 {
			wave = append(wave, m.fast(w))
		}
		got := halfOrder(wave[1000:], 1700)
		if got < c.low*(1-tolerance) || got > c.high*(1+tolerance) {
			t.Errorf("%v Nm: %.1f rpm at half order, want %v to %v", c.nm, got, c.low, c.high)
		}
		if beside := halfOrder(wave[1000:], 1900); beside > got/4 {
			t.Errorf("%v Nm: %.1f rpm beside the half order, %.1f at it", c.nm, beside, got)
		}
	}
}

// A single missing combustion: 35–65 rpm (computed for this project, ±30 %).
func TestMisfire_SingleDip(t *testing.T) {
	const tolerance = 0.3
	for _, nm := range []float64{75, 130} {
		w := locked(3, nm, 1700)
		m := newMisfire(Fault{Kind: FaultMisfire, MissShare: 1e-9}, &w.car, rand.New(rand.NewPCG(1, 1)))
		m.slow(w)
		m.mode.kick(-w.car.MisfireDipRPM(nm, 1700, m.mode.inertia))
		var wave []float64
		for range 100 {
			wave = append(wave, m.fast(w))
		}
		dip := -slices.Min(wave)
		if dip < 35*(1-tolerance) || dip > 65*(1+tolerance) {
			t.Errorf("%v Nm: dip of %.1f rpm, want 35 to 65", nm, dip)
		}
		if late := math.Abs(wave[99]); late > dip/10 {
			t.Errorf("%v Nm: %.1f rpm left after half a second", nm, late)
		}
	}
}

// A misfire that comes under load is quiet at light load.
func TestMisfire_UnderLoadOnly(t *testing.T) {
	w := locked(3, 40, 1700)
	m := newMisfire(Fault{Kind: FaultLoadMisfire, MissShare: 1}, &w.car, rand.New(rand.NewPCG(1, 1)))
	for _, c := range []struct {
		load  float64
		fires bool
	}{{0.25, false}, {0.7, true}} {
		w.load = c.load
		m.slow(w)
		most := 0.0
		for range 400 {
			most = max(most, math.Abs(m.fast(w)))
		}
		if (most > 5) != c.fires {
			t.Errorf("load %v: engine speed swings %.1f rpm", c.load, most)
		}
	}
}

// A torque step of 50 Nm rings the shuffle with 20–86 rpm amplitude at 11.4–2.6 Hz and
// dies in 0.5–1.5 s (computed for this project, ±30 %).
func TestMode_TorqueStep(t *testing.T) {
	const tolerance = 0.3
	car := exampleCar()
	for _, c := range []struct{ overall, rpm float64 }{{2.4, 20}, {12, 86}} {
		var m mode
		m.set(car.ShuffleHz(c.overall), 0.09, car.InertiaKgM2+turbineInertia)
		m.torqueStep(50)
		var wave []float64
		for range 400 {
			wave = append(wave, m.step())
		}
		if got := slices.Max(wave); math.Abs(got-c.rpm) > tolerance*c.rpm {
			t.Errorf("overall ratio %v: %.1f rpm, want %v", c.overall, got, c.rpm)
		}
		late := wave[300:]
		if got := slices.Max(late); got > 0.2*c.rpm {
			t.Errorf("overall ratio %v: %.1f rpm left after 1.5 s", c.overall, got)
		}
	}
}
