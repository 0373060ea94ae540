package drivetrain

import (
	"math"
	"math/rand/v2"
)

// roughRoad shakes the drive line through the wheels: kicks of random size ring the
// crankshaft's mode.
type roughRoad struct {
	fault Fault
	rng   *rand.Rand
	mode  mode
	wait  float64
	left  float64
	sd    float64
	spanner
}

func (r *roughRoad) slow(w *world) {
	r.kind, r.gap = SpanRough, 0.5
	w.fitCrank(&r.mode)
	if r.sd == 0 || (r.left <= 0 && r.wait <= 0) {
		r.sd = within(r.rng, 6, 16)
	}
	switch {
	case r.fault.Always:
		r.left = 1
	case r.left > 0:
		if r.left -= slowDT; r.left <= 0 {
			r.wait = within(r.rng, 15, 60)
		}
	case w.driver.calm.seconds > 2 && w.speed > 11:
		if r.wait -= slowDT; r.wait <= 0 {
			r.left = within(r.rng, 3, 20)
		}
	}
	if r.left > 0 && w.speed > 6 {
		r.alive(w)
	}
	r.tick(w)
}

func (r *roughRoad) fast(w *world) float64 {
	if r.left > 0 && w.speed > 6 {
		// White kicks of this size leave an s.d. of r.sd in a mode of this damping.
		size := r.sd * math.Sqrt(4*r.mode.damping*2*math.Pi*r.mode.hz*fastDT)
		r.mode.kick(size * r.rng.NormFloat64() * clamp(w.speed/18, 0.4, 1.3))
	}
	n := r.mode.step()
	r.see(n)
	return n
}

// fitCrank gives a mode the frequency of the drive line as it is engaged. Damper springs
// and fluid take the peak off what cylinders and road do: with the damping of the plain
// shuffle a half order that meets the mode would swing five times too far (judgement).
func (w *world) fitCrank(m *mode) {
	if w.tied() {
		m.set(w.car.ShuffleHz(float64(w.ratio)), 0.4, w.car.InertiaKgM2+turbineInertia)
		return
	}
	m.set(3, 0.7, w.car.InertiaKgM2)
}

// toggling switches the clutch, or a gear, off and on in cruise.
type toggling struct {
	fault Fault
	rng   *rand.Rand
	wait  float64
	off   bool
	spanner
}

func (t *toggling) slow(w *world) {
	low, high := 1.3, 6.0
	t.kind, t.gap = SpanLockCycling, 8
	if t.fault.Kind == FaultGearHunting {
		low, high = 2.0, 8
		t.kind = SpanGearHunting
	}
	fits := w.running && w.speed > 14 && !w.brake && w.engine.command > 0.02 && w.box.drive
	if !fits && t.off {
		t.off = false
	}
	if fits && w.driver.reached {
		if t.wait -= slowDT; t.wait <= 0 {
			t.off, t.wait = !t.off, or(t.fault.EverySeconds, t.rng, low, high)
			t.alive(w)
		}
	}
	if t.kind == SpanGearHunting {
		w.box.hold = 0
		if t.off {
			w.box.hold = -1
		}
	} else {
		w.box.lockForbid = t.off
	}
	t.tick(w)
}

func (t *toggling) fast(*world) float64 { return 0 }

// accessory is a compressor clutch or a fan that switches.
type accessory struct {
	rng  *rand.Rand
	wait float64
	nm   float64
	on   bool
	// seconds until the step has died away
	settle float64
	spanner
}

func (a *accessory) slow(w *world) {
	a.kind, a.gap = SpanAccessory, 0.1
	if a.wait -= slowDT; a.wait <= 0 && w.running {
		a.on, a.wait, a.settle = !a.on, within(a.rng, 5, 30), 1
	}
	if a.settle -= slowDT; a.settle > 0 {
		a.alive(w)
	}
	w.engine.extraNm = 0
	if a.on {
		w.engine.extraNm = a.nm
	}
	a.tick(w)
}

func (a *accessory) fast(*world) float64 { return 0 }

// mark notes the stretches in which something holds that may fool a detector; it moves
// nothing.
type mark struct {
	kind  SpanKind
	gap   float64
	holds func(w *world) bool
}

var (
	markUntied  = mark{SpanUntied, 5, func(w *world) bool { return w.running && w.speed > 3 }}
	markRevving = mark{SpanRevving, 3, func(w *world) bool { return !w.box.drive && w.engine.command > 0.02 }}
	markOverrun = mark{SpanOverrunShift, 1, func(w *world) bool { return w.engine.cut }}
	markTipIn   = mark{SpanTipIn, 0.6, func(w *world) bool { return math.Abs(w.engine.torqueChange) > 2 }}
)

type marker struct {
	mark mark
	spanner
}

func (m *marker) slow(w *world) {
	if m.mark.holds(w) {
		m.alive(w)
	}
	m.tick(w)
}

func (m *marker) fast(*world) float64 { return 0 }

// extras are the marks of a script as effects.
func (row scriptDef) extras(*world) []effect {
	var list []effect
	for _, m := range row.marks {
		list = append(list, &marker{m, spanner{kind: m.kind, gap: m.gap}})
	}
	return list
}
