package drivetrain

import (
	"math"
	"math/rand/v2"
)

// phase is how far an engine is from running.
type phase int

const (
	phaseOff phase = iota
	phaseRunDown
	phaseCrank
	phaseFlare
	phaseRunning
)

// engine is torque, idle, and the coming and going of combustion.
type engine struct {
	rng          *rand.Rand
	on           phase
	stopKind     StopKind
	command      float64 // pedal as the engine ECU sees it, 0..1
	torqueChange float64 // Nm within the last slow step
	cut          bool    // fuel cut on the overrun
	since        float64 // seconds in this phase
	lasts        float64
	from         float64 // rpm at the start of run-down
	crankRPM     float64
	peak         float64 // of the flare
	settle       float64
	wait         float64 // seconds of standing before an automatic stop
	done         bool    // this halt has had its stop
	offFor       float64 // hybrid: seconds since the engine was last switched
	extraNm      float64 // asked by accessories
}

// full returns the torque at full load and drag the torque it takes to turn the engine.
func (c *Car) full(rpm float64) float64 {
	x := (rpm - 2600) / 3400
	if c.Diesel {
		x = (rpm - 2100) / 2400
	}
	return c.MaxTorqueNm * max(1-0.6*x*x, 0.3)
}

func (c *Car) drag(rpm float64) float64 {
	return c.displacementL() * (6 + 3*rpm/1000)
}

// loadOf and pedalOf are the pedal map and its inverse.
func loadOf(pedal float64) float64 { return 1 - math.Pow(1-clamp(pedal, 0, 1), 1.6) }
func pedalOf(load float64) float64 { return 1 - math.Pow(1-clamp(load, 0, 0.999), 1/1.6) }

// pull makes the brake torque of the engine.
func (v *vehicle) pull() {
	e := &v.engine
	before := v.torque
	if !v.running {
		v.load, v.torque, e.torqueChange = 0, 0, 0
		return
	}
	n := max(v.rpm, 500)
	drag := v.car.drag(n)
	e.cut = e.command < 0.01 && n > 1250 && v.speed > 4 || (e.cut && e.command < 0.01 && n > 1050)
	goal := loadOf(e.command)
	if idle := v.idleLoad(n, drag); goal < idle && !e.cut {
		goal = idle
	}
	if e.cut {
		goal = 0
	}
	rate := slowDT / 0.12
	v.load += (goal - v.load) * rate
	v.torque = v.load*v.car.full(n) - drag - e.extraNm
	e.torqueChange = v.torque - before
}

// idleLoad is what the idle governor asks: all of the drag near idle, fading above it.
func (v *vehicle) idleLoad(rpm, drag float64) float64 {
	fade := clamp(1-(rpm-v.idle())/900, 0.35, 1)
	creep := 0.0
	if v.box.drive && v.car.Gearbox != Manual {
		root := v.idle() / stallK
		creep = root * root * clamp(1-v.turbine/v.idle(), 0, 1)
	}
	return (drag*fade + creep) / v.car.full(rpm)
}

// idle is the engine speed the governor holds: higher when cold.
func (v *vehicle) idle() float64 {
	return v.car.IdleRPM + 6*clamp(60-float64(v.coolant), 0, 80)
}
