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
	tapper   tapper
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
	case actOverrun, actNeutral:
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
	case d.act.kind == actOverrun || d.act.kind == actNeutral:
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
		rate = -min(d.act.accel, 0.25+0.35*d.wanted)
	}
	d.wanted = max(d.wanted+rate*slowDT, 0)
	d.wanted = clamp(d.wanted, speed-3, speed+3)
	return rate
}

// halt brakes to a standstill and stays there.
func (v *vehicle) halt(change float64) {
	d := &v.driver
	d.foot = 0
	push := (v.torque*v.leverage() - v.resist(0.7*float64(v.grade))) / v.car.MassKg
	d.brake = max(push-change+0.6*(v.speed-d.wanted), 0.1)
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
