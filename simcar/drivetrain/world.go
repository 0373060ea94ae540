package drivetrain

import (
	"math/rand/v2"
	"time"
)

// Each idea draws from its own stream, so that a change to one leaves the others alone.
const (
	streamCar = iota + 1
	streamRoute
	streamFoot
	streamRoad
	streamNoise
	streamEngine
	streamFault // and upwards, one for each fault
)

// world is the vehicle and all that shakes its crankshaft; step carries it on by one slowStep.
type world struct {
	vehicle
	seed      uint64
	noise     noise
	shuffle   mode // torque steps ring it
	effects   []effect
	spans     []Span
	stops     []Stop
	standing  bool // within an engine stop
	fastCount int
}

// effect is something that swings engine speed beside the slow motion.
type effect interface {
	slow(w *world)         // once a slow step, before the fast ones
	fast(w *world) float64 // rpm to add at this fast step
	open() (Span, bool)    // a span that has begun and not ended
}

func (w *world) stream(n uint64) *rand.Rand { return rand.New(rand.NewPCG(w.seed, n)) }

func newWorld(spec Spec, row scriptDef) *world {
	w := &world{seed: spec.Seed}
	if spec.Car != nil {
		w.car = *spec.Car
	} else {
		w.car = DrawCar(spec.Seed)
		if row.fit != nil {
			row.fit(&w.car)
		}
	}
	w.route = route{legs: row.legs, rng: w.stream(streamRoute)}
	w.driver.rng = w.stream(streamFoot)
	w.road = road{rng: w.stream(streamRoad), hills: row.hills}
	w.noise = newNoise(&w.car, w.stream(streamNoise))
	w.engine.rng = w.stream(streamEngine)
	w.engine.on = phaseRunning
	w.warmSeconds = usualWarmSeconds
	if row.warmSeconds > 0 {
		w.warmSeconds = row.warmSeconds
	}
	w.frame = frame{rpm: w.car.IdleRPM, running: true, brake: true, volts: 14.1, throttle: w.car.ClosedPct / 100, load: 0.12,
		coolant: 88, intake: 28, fuel: float32(w.car.FuelPct)}
	if row.cold {
		w.coolant, w.intake = 8, 8
	}
	if row.engineOff {
		w.rpm, w.running, w.volts = 0, false, 12.4
		w.engine.on, w.engine.stopKind = phaseOff, StopOff
		w.standing, w.stops = true, []Stop{{Kind: StopOff}}
	}
	w.box.gear = 1
	w.box.openRPM, w.box.clutchRPM = w.idle(), w.idle()
	for i, f := range append(append([]Fault(nil), row.faults...), spec.Faults...) {
		w.effects = append(w.effects, f.effect(w, w.stream(streamFault+uint64(i))))
	}
	w.effects = append(w.effects, row.extras(w)...)
	return w
}

// fastNow is the time of the fast step being made.
func (w *world) fastNow() time.Duration {
	return time.Duration(w.n-1)*slowStep + time.Duration(w.fastCount)*fastStep
}

func (w *world) step(fast []float32) {
	before := w.rpm
	w.n++
	w.act()
	w.drive()
	w.shift()
	w.pull()
	w.roll()
	w.turn()
	w.warm()
	for _, e := range w.effects {
		e.slow(w)
	}
	w.driver.tapper.watch(w)
	w.tune()
	for k := range fast {
		w.fastCount = k + 1
		base := mix(before, w.rpm, float64(k+1)/fastPerSlow)
		fast[k] = float32(w.shake(base))
		w.watchStop(float64(fast[k]))
	}
}

// shake adds all that is quick to the engine speed of the slow motion.
func (w *world) shake(base float64) float64 {
	if w.engine.on == phaseOff {
		return 0
	}
	n := base
	for _, e := range w.effects {
		n += e.fast(w)
	}
	n += w.shuffle.step() + w.noise.step(&w.vehicle)
	return max(n, 0)
}

// tune fits the shuffle to the ratio that is engaged and hands it what the engine did.
func (w *world) tune() {
	if w.tied() {
		w.shuffle.set(w.car.ShuffleHz(float64(w.ratio)), w.car.ShuffleDamp, w.car.InertiaKgM2+turbineInertia)
	} else {
		w.shuffle.set(2.5, 0.7, w.car.InertiaKgM2) // fluid holds the engine softly
	}
	if w.running {
		w.shuffle.torqueStep(w.engine.torqueChange)
	}
}

func (w *world) openSpans() []Span {
	var list []Span
	for _, e := range w.effects {
		if s, ok := e.open(); ok {
			list = append(list, s)
		}
	}
	return list
}

// turns reports whether an engine that reads above the limit of a stop is under way: it runs,
// or a belt machine or hybrid turns it as fast as that.
func (e *engine) turns() bool {
	return e.on >= phaseFlare || (e.on == phaseCrank && e.crankRPM > stopLimitRPM)
}

// watchStop keeps the list of stops by what the engine speed does.
func (w *world) watchStop(rpm float64) {
	switch {
	case !w.standing && rpm < stopLimitRPM && w.engine.on <= phaseRunDown:
		w.standing = true
		w.stops = append(w.stops, Stop{Start: w.fastNow(), Kind: w.engine.stopKind})
	case w.standing && rpm >= stopLimitRPM && w.engine.turns():
		w.standing = false
		w.stops[len(w.stops)-1].End = w.fastNow()
	}
}
