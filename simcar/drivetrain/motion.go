package drivetrain

import "math"

const (
	gravity    = 9.81
	airDensity = 1.2
	rolling    = 0.011
	efficiency = 0.92
)

// resist is the force of road and air against the car, N, on a slope (rise over run).
func (w *world) resist(grade float64) float64 {
	air := 0.5 * airDensity * w.car.DragAreaM2 * w.speed * w.speed
	return w.car.MassKg*gravity*(rolling+grade) + air
}

// leverage is the force at the road for one Nm of the engine.
func (w *world) leverage() float64 {
	tr := math.Max(w.box.torqueRatio, 1)
	return float64(w.ratio) * tr * efficiency / w.car.TyreRadiusM
}

// pedalFor inverts the chain: the pedal that gives a force at the road.
func (w *world) pedalFor(force float64) float64 {
	if w.car.Gearbox == PowerSplit {
		return clamp(force/w.hybridForce(), 0, 1)
	}
	n := math.Max(w.rpm, 500)
	torque := force/math.Max(w.leverage(), 1) + w.car.drag(n)
	return pedalOf(torque / w.car.full(n))
}

// overrunForce is the force at the road with the pedal at rest, N.
func (w *world) overrunForce() float64 {
	if w.car.Gearbox == PowerSplit {
		return -0.05 * w.car.MassKg * gravity
	}
	return -w.car.drag(math.Max(w.rpm, 500)) * 0.8 * w.leverage()
}

// roll moves the car.
func (w *world) roll() {
	w.road.step(w)
	force := w.torque * w.leverage()
	if !w.running || !w.box.drive {
		force = 0
	}
	if w.shifting {
		force *= 0.6
	}
	if w.car.Gearbox == PowerSplit {
		force = w.hybridForce() * w.engine.command
		if w.engine.command < 0.01 {
			force = w.overrunForce() * clamp(w.speed/3, 0, 1)
		}
	}
	if w.car.Gearbox == Manual && w.speed < 2.2 && w.engine.command < 0.01 {
		force = 0 // clutch pedal down
	}
	resist := w.resist(float64(w.grade))
	if w.speed == 0 {
		resist = w.car.MassKg * gravity * rolling
	}
	brake := 0.0
	if w.driver.brake > 0 {
		brake = w.driver.brake * w.car.MassKg
		if w.driver.reached && w.speed == 0 {
			return
		}
	}
	v := w.speed + (force-resist-brake)/w.car.MassKg*slowDT
	if v < 0.12 && (w.brake || w.driver.act.kind == actPark) {
		v = 0
	}
	w.speed = math.Max(v, 0)
}

// turn finds the engine speed that belongs to speed, torque and clutch.
func (w *world) turn() {
	var base float64
	switch w.car.Gearbox {
	case PowerSplit:
		base = w.hybridRPM()
	case Manual:
		base = w.clutchRPM()
	default:
		base = w.converterRPM()
	}
	if !w.box.drive && w.car.Gearbox != PowerSplit {
		base = w.freeRPM()
	}
	w.rpm = w.settleEngine(base)
}

// freeRPM is the engine without load: in park.
func (w *world) freeRPM() float64 {
	b := &w.box
	want := w.idle() + 5200*w.engine.command
	b.openRPM += (want - b.openRPM) * slowDT / 0.35
	return b.openRPM
}

func (w *world) clutchRPM() float64 {
	b := &w.box
	want := w.turbine
	if !w.holds && !w.shifting {
		want = math.Max(w.turbine, w.idle()+1400*w.engine.command)
	}
	b.clutchRPM += (want - b.clutchRPM) * slowDT / 0.06
	if w.holds && math.Abs(want-b.clutchRPM) < 40 {
		b.clutchRPM = want
	}
	b.torqueRatio, b.openRPM = 1, b.clutchRPM
	return math.Max(b.clutchRPM, w.idle())
}

// converterRPM is turbine speed and slip, the slip shared out between fluid and clutch.
func (w *world) converterRPM() float64 {
	b := &w.box
	want, tr := w.openConverter()
	b.openRPM += (want - b.openRPM) * slowDT / 0.18
	b.slipNow += (w.car.SlipRPM - b.slipNow) * slowDT
	lock := float64(w.lock)
	b.torqueRatio = mix(tr, 1, lock)
	slip := mix(b.openRPM-w.turbine, b.slipNow, lock)
	return w.turbine + slip
}

// openConverter returns the engine speed at which the converter takes the torque, and its
// torque ratio.
func (w *world) openConverter() (rpm, torqueRatio float64) {
	const least = 4 // Nm below which the converter is driven by the car
	idle := w.idle()
	torque := w.torque
	if torque < least {
		return math.Max(idle, w.turbine-math.Min(1.5*(least-torque), 140)), 1
	}
	root := math.Sqrt(torque)
	sr := along(convKR, convSpeedRatio, w.turbine/root)
	rpm = math.Max(ConverterK(sr)*root, w.turbine)
	return math.Max(rpm, idle), ConverterTorqueRatio(sr)
}
