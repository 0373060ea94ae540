package drivetrain

import (
	"math"
	"math/rand/v2"
)

// driver turns the act at hand into pedal and brake.
type driver struct {
	rng      *rand.Rand
	act      act
	actCount int
	spent    float64 // seconds of holding or waiting done
	coasted  float64 // seconds with the foot off in this act
	wanted   float64 // m/s, the speed aimed at now
	reached  bool
	foot     float64 // pedal the foot is moving to, 0..1
	tremor   float64
	untilFix float64 // seconds until the foot is corrected
	jab      float64 // extra pedal of a tip-in
	untilJab float64
	rev      float64 // pedal in park
	untilRev float64
	trim     float64 // integral of cruise control
	brake    float64 // m/s² asked of the brakes
	calm     calm
}

// longestCoast ends an overrun on a falling road, seconds.
const longestCoast = 14

// act takes the next piece of the route when the present one is done.
func (v *vehicle) act() {
	d := &v.driver
	if d.actCount == 0 || d.done(v) {
		d.act = v.route.next()
		d.actCount++
		d.spent, d.coasted, d.reached, d.untilFix = 0, 0, false, 0
		d.untilJab = within(d.rng, 4, 8)
		if d.act.accel == 0 {
			d.act.accel = 1.2
		}
	}
	if d.reached {
		d.spent += slowDT
	}
}

func (d *driver) done(v *vehicle) bool {
	if !d.reached {
		return false
	}
	switch d.act.kind {
	case actStop, actPark:
		ready := v.engine.on == phaseRunning || v.car.Gearbox == PowerSplit
		return d.spent >= d.act.seconds && ready
	case actOverrun:
		return true
	default:
		return d.spent >= d.act.seconds
	}
}

func (v *vehicle) drive() {
	d := &v.driver
	target := d.act.kmh / 3.6
	if d.act.kind == actStop || d.act.kind == actPark {
		target = 0
	}
	change := d.aim(target, v.speed)
	v.cruise = d.act.cruise && d.reached
	switch {
	case target == 0:
		v.halt(change)
	case d.act.kind == actOverrun:
		d.foot, d.brake = 0, 0
		d.coasted += slowDT
		d.reached = d.reached || v.speed <= target || d.coasted > longestCoast
		d.wanted = v.speed
	default:
		if math.Abs(v.speed-target) < 0.9 || d.spent > 0 {
			d.reached = true
		}
		v.press(change)
	}
	v.moveFoot()
	d.calm.watch(v.pedal, v.throttle)
}

// aim moves the speed aimed at and returns its rate of change in m/s².
func (d *driver) aim(target, speed float64) float64 {
	gap := target - d.wanted
	accel := d.act.accel / (1 + speed/25) // people press less at speed
	rate := clamp(gap*0.35, -accel, accel)
	if target == 0 {
		rate = -math.Min(d.act.accel, 0.25+0.35*d.wanted)
	}
	d.wanted = math.Max(d.wanted+rate*slowDT, 0)
	d.wanted = clamp(d.wanted, speed-3, speed+3)
	return rate
}

// halt brakes to a standstill and stays there.
func (v *vehicle) halt(change float64) {
	d := &v.driver
	d.foot = 0
	push := (v.torque*v.leverage() - v.resist(0.7*float64(v.grade))) / v.car.MassKg
	d.brake = math.Max(push-change+0.6*(v.speed-d.wanted), 0.1)
	if v.speed == 0 {
		d.reached, d.brake = true, 2
	}
	if d.act.kind != actPark || !d.act.revs || !d.reached {
		d.rev = 0
		return
	}
	if d.untilRev -= slowDT; d.untilRev <= 0 {
		d.rev, d.untilRev = 0, within(d.rng, 0.5, 5)
		if d.rng.Float64() < 0.6 {
			d.rev = within(d.rng, 0.05, 0.4)
		}
	}
	d.foot = d.rev
}

// press holds the foot where it is and corrects it now and then, as people do.
func (v *vehicle) press(change float64) {
	d := &v.driver
	d.untilFix -= slowDT
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
		v.pedal = math.Max(v.pedal-1.5*slowDT, 0)
		v.engine.command += clamp(d.foot-v.engine.command, -0.25*slowDT, 0.25*slowDT)
	} else {
		d.tremor += -d.tremor*slowDT/0.4 + 0.003*v.car.Foot*d.rng.NormFloat64()*math.Sqrt(slowDT/0.4)
		goal := d.foot
		if goal > 0.01 {
			goal = math.Max(goal+d.tremor, 0)
		}
		rate := (0.45 + 3*d.jab) * slowDT
		v.pedal = clamp(v.pedal+clamp(goal-v.pedal, -2*rate, rate), 0, 1)
		v.engine.command = v.pedal
	}
	v.brake = d.brake > 0 && d.foot == 0
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
