package drivetrain

import "math"

// A power-split hybrid: the ring of a planetary gear is tied to the road, the engine is
// not. It runs by the power that is asked for and stops while the car moves.

// hybridForce is the greatest force at the road, N.
func (w *world) hybridForce() float64 {
	const topWatts, topNewton = 90e3, 7500
	return math.Min(topNewton, topWatts/math.Max(w.speed, 1))
}

func (w *world) hybridWatts() float64 {
	return w.hybridForce() * w.engine.command * math.Max(w.speed, 1)
}

func (w *world) hybridWants() bool {
	return w.hybridWatts() > 9e3 || w.speed > 25 || w.coolant < 50
}

func (w *world) decideHybrid() {
	e := &w.engine
	e.offFor += slowDT
	if e.on != phaseRunning || w.coolant < 50 {
		return
	}
	if w.hybridWatts() < 5e3 && w.speed < 23 && e.offFor > 3 {
		e.offFor = 0
		kind := StopAutomatic
		if w.speed > 0.5 {
			kind = StopRolling
		}
		w.stopEngine(kind)
	}
}

func (w *world) hybridRPM() float64 {
	b := &w.box
	// The battery is filled and emptied by turns, which moves the engine at a steady foot:
	// by 200 rpm and more within 2 s on a car of open data.
	now := w.now().Seconds()
	charge := 110 * (math.Sin(2*math.Pi*now/7.3) + math.Sin(2*math.Pi*now/11.9))
	want := math.Max(w.idle()+250, 1000+55*w.hybridWatts()/1000+charge)
	if w.engine.on < phaseFlare {
		b.openRPM = w.idle()
	}
	b.openRPM += (math.Min(want, 4800) - b.openRPM) * slowDT / 0.6
	return math.Max(b.openRPM, w.idle())
}
