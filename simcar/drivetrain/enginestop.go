package drivetrain

import (
	"math"
)

// settleEngine runs stops, starts and the flare after them. It reports the engine speed
// while the engine is not in normal running.
func (v *vehicle) settleEngine(base float64) float64 {
	e := &v.engine
	e.since += slowDT
	v.decideStop()
	switch e.on {
	case phaseRunDown:
		left := 1 - e.since/e.lasts
		if left <= 0 {
			v.enter(phaseOff)
			return 0
		}
		return e.from * math.Pow(left, 0.8)
	case phaseOff:
		if v.wantsStart() {
			v.crankUp()
		}
		return 0
	case phaseCrank:
		rise := min(e.since/0.08, 1)
		n := e.crankRPM * rise * (1 + 0.12*math.Sin(2*math.Pi*9*e.since))
		if e.since >= e.lasts {
			v.enter(phaseFlare)
		}
		return n
	case phaseFlare:
		return v.flare(base)
	}
	return base
}

func (v *vehicle) enter(p phase) {
	v.engine.on, v.engine.since = p, 0
	v.running = p >= phaseFlare
}

// flare rises from cranking to its peak and settles to idle.
func (v *vehicle) flare(base float64) float64 {
	e := &v.engine
	const rise = 0.22
	var n float64
	if e.since < rise {
		n = mix(e.crankRPM, e.peak, e.since/rise)
	} else {
		n = base + (e.peak-base)*math.Exp(-(e.since-rise)/e.settle)
	}
	if e.since > rise+4*e.settle || (e.since > rise && base > n) {
		v.enter(phaseRunning)
	}
	return max(n, e.crankRPM)
}

// crankUp begins a start. Starter 150 to 300 rpm, belt machine 400 to 800, for 0.2 to
// 0.5 s (from memory); whole restart about 0.35 to 0.7 s (a maker's archived technology
// page and service information, for stop/start).
func (v *vehicle) crankUp() {
	e := &v.engine
	v.enter(phaseCrank)
	e.crankRPM, e.lasts = within(e.rng, 190, 300), within(e.rng, 0.25, 0.45)
	e.peak = v.flarePeak()
	e.settle = within(e.rng, 0.3, 0.6)
	switch {
	case v.car.Gearbox == PowerSplit:
		e.crankRPM, e.lasts = within(e.rng, 700, 900), 0.25
		e.peak = v.idle() + within(e.rng, 50, 300)
	case e.stopKind == StopOff || e.stopKind == StopStall:
		e.lasts = within(e.rng, 0.5, 1.1)
	}
}

// flarePeak: 935, 1174 and 2317 rpm at 5, 50 and 95 % of 236 automatic restarts of open
// data.
func (v *vehicle) flarePeak() float64 {
	const floor = 880
	return floor + skewed(v.engine.rng, flareMedianRPM-floor, (flareMedianRPM-floor)/(flareLowRPM-floor),
		(flareHighRPM-floor)/(flareMedianRPM-floor), 1800)
}

// decideStop begins an engine stop when the act and the car ask for one.
func (v *vehicle) decideStop() {
	e, d := &v.engine, &v.driver
	if v.car.Gearbox == PowerSplit {
		v.decideHybrid()
		return
	}
	if v.speed > 8 {
		e.done = false
	}
	if e.on != phaseRunning || e.done || d.act.kind != actStop || d.act.stop == "" {
		return
	}
	if d.act.stop == StopRolling {
		if v.speed < 4.5 {
			v.stopEngine(StopRolling)
		}
		return
	}
	if !d.reached || d.act.seconds < 2.5 {
		e.wait = within(e.rng, 0.4, 1.4)
		return
	}
	if d.spent > e.wait {
		v.stopEngine(d.act.stop)
	}
}

func (v *vehicle) stopEngine(kind StopKind) {
	e := &v.engine
	e.done = true
	e.stopKind, e.from = kind, v.rpm
	e.lasts = within(e.rng, 0.3, 0.9)
	v.enter(phaseRunDown)
}

// wantsStart reports whether a stopped engine should be started now.
func (v *vehicle) wantsStart() bool {
	e, d := &v.engine, &v.driver
	if v.car.Gearbox == PowerSplit {
		return v.hybridWants() && e.offFor > 1.5
	}
	if e.stopKind == StopOff {
		return e.since > 4
	}
	if d.act.kind != actStop {
		return true
	}
	return d.reached && d.spent > d.act.seconds-0.9
}
