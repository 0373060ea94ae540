package drivetrain

import "math"

// A power-split hybrid: the ring of a planetary gear is tied to the road, the engine is
// not. It runs by the power that is asked for and stops while the car moves.

// hybridForce is the greatest force at the road, N.
func (v *vehicle) hybridForce() float64 {
	const topWatts, topNewton = 90e3, 7500
	return min(topNewton, topWatts/max(v.speed, 1))
}

func (v *vehicle) hybridWatts() float64 {
	return v.hybridForce() * v.engine.command * max(v.speed, 1)
}

func (v *vehicle) hybridWants() bool {
	return v.hybridWatts() > 9e3 || v.speed > 25 || v.coolant < 50
}

func (v *vehicle) decideHybrid() {
	e := &v.engine
	e.offFor += slowDT
	if e.on != phaseRunning || v.coolant < 50 {
		return
	}
	if v.hybridWatts() < 5e3 && v.speed < 23 && e.offFor > 3 {
		e.offFor = 0
		kind := StopAutomatic
		if v.speed > 0.5 {
			kind = StopRolling
		}
		v.stopEngine(kind)
	}
}

func (v *vehicle) hybridRPM() float64 {
	b := &v.box
	// The battery is filled and emptied in turn, which moves the engine at a steady foot:
	// by 200 rpm and more within 2 s on a car of open data.
	now := v.now().Seconds()
	charge := 110 * (math.Sin(2*math.Pi*now/7.3) + math.Sin(2*math.Pi*now/11.9))
	if v.car.HoldSeconds > 0 {
		charge = 0
	}
	want := max(v.idle()+250, 1000+55*v.hybridWatts()/1000+charge)
	if v.speed > 1 {
		want = b.held.take(v, want/v.speed) * v.speed
	}
	if v.engine.on < phaseFlare {
		b.openRPM = v.idle()
	}
	b.openRPM += (min(want, 4800) - b.openRPM) * slowDT / 0.6
	return max(b.openRPM, v.idle())
}
