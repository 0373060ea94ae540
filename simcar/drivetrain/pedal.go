package drivetrain

import (
	"math"
)

// press holds the foot where it is and corrects it now and then, as people do.
func (v *vehicle) press(change float64) {
	d := &v.driver
	d.untilFix -= slowDT
	if d.tapper.touches {
		d.brake = tapBrake
		return // the foot on the throttle keeps still
	}
	gain := 0.25
	if d.reached {
		gain = 0.12
	}
	need := v.car.MassKg*(change+gain*(d.wanted-v.speed)) + v.resist(0.6*float64(v.grade))
	pedal := v.pedalFor(need)
	d.brake = 0
	if engine := v.overrunForce(); need < engine-0.3*v.car.MassKg {
		d.brake = (engine - need) / v.car.MassKg
	}
	if v.cruise {
		d.trim = clamp(d.trim+0.02*(d.wanted-v.speed)*slowDT, -0.2, 0.3)
		d.foot = clamp(pedal+d.trim, 0, 0.75)
		return
	}
	if d.act.jab > 0 && d.reached {
		if d.untilJab -= slowDT; d.untilJab <= 0 {
			d.untilJab = within(d.rng, 2.5, 7)
			d.jab = d.act.jab * d.rng.Float64()
			d.untilFix = 0
		}
	} else {
		d.jab = 0
	}
	off := math.Abs(d.wanted - v.speed)
	if d.untilFix > 0 && off < 1.6 {
		return
	}
	// A steady foot moves by a few percent every few seconds; a busy one more and oftener.
	slack, wait := 0.025, within(d.rng, 0.8, 3.5)
	if d.act.steady && d.reached {
		slack, wait = 0.011, within(d.rng, 2.5, 11)
	} else if !d.reached {
		wait = within(d.rng, 0.25, 0.9)
	}
	d.untilFix = wait
	d.foot = clamp(pedal+d.jab+slack*v.car.Foot*d.rng.NormFloat64(), 0, 1)
	if need < 0 && pedal == 0 {
		d.foot = 0
	}
}

// moveFoot lets the pedal follow the foot and the throttle the pedal. Under cruise
// control the pedal is at rest and the throttle moves alone.
func (v *vehicle) moveFoot() {
	d := &v.driver
	if v.cruise {
		v.pedal = max(v.pedal-1.5*slowDT, 0)
		v.engine.command += clamp(d.foot-v.engine.command, -0.25*slowDT, 0.25*slowDT)
	} else {
		d.tremor += -d.tremor*slowDT/0.4 + 0.003*v.car.Foot*d.rng.NormFloat64()*math.Sqrt(slowDT/0.4)
		goal := d.foot
		if goal > 0.01 {
			goal = max(goal+d.tremor, 0)
		}
		rate := (0.45 + 3*d.jab) * slowDT
		v.pedal = clamp(v.pedal+clamp(goal-v.pedal, -2*rate, rate), 0, 1)
		v.engine.command = v.pedal
	}
	v.brake = d.brake > 0 && d.foot == 0 || d.tapper.touches
	closed := v.car.ClosedPct / 100
	if v.car.Diesel {
		// A diesel's flap is nearly open and does not follow the foot.
		v.throttle = 0.86
		if !v.running {
			v.throttle = closed
		}
		return
	}
	v.throttle = closed + (0.86-closed)*math.Pow(v.engine.command, 1.1)
	if v.running && v.engine.command < 0.01 && v.speed < 3 {
		v.throttle += 0.012 // the idle governor's opening
	}
}

// calm measures for how long pedal and throttle have kept within 5 %.
type calm struct {
	pedal, throttle float64
	seconds         float64
}

func (c *calm) watch(pedal, throttle float64) {
	const half = 0.025
	if math.Abs(pedal-c.pedal) > half || math.Abs(throttle-c.throttle) > half {
		c.pedal, c.throttle, c.seconds = pedal, throttle, 0
	}
	c.seconds += slowDT
}
