package drivetrain

import "math"

const (
	gravity    = 9.81
	airDensity = 1.2
	rolling    = 0.011
	efficiency = 0.92
)

// resist is the force of road and air against the car, N, on a slope (rise over run).
func (v *vehicle) resist(grade float64) float64 {
	air := 0.5 * airDensity * v.car.DragAreaM2 * v.speed * v.speed
	return v.car.MassKg*gravity*(rolling+grade) + air
}

// leverage is the force at the road for one Nm of the engine.
func (v *vehicle) leverage() float64 {
	tr := max(v.box.torqueRatio, 1)
	return float64(v.ratio) * tr * efficiency / v.car.TyreRadiusM
}

// pedalFor inverts the chain: the pedal that gives a force at the road.
func (v *vehicle) pedalFor(force float64) float64 {
	if v.car.Gearbox == PowerSplit {
		return clamp(force/v.hybridForce(), 0, 1)
	}
	n := max(v.rpm, 500)
	torque := force/max(v.leverage(), 1) + v.car.drag(n)
	return pedalOf(torque / v.car.full(n))
}

// overrunForce is the force at the road with the pedal at rest, N.
func (v *vehicle) overrunForce() float64 {
	if v.car.Gearbox == PowerSplit {
		return -0.05 * v.car.MassKg * gravity
	}
	return -v.car.drag(max(v.rpm, 500)) * 0.8 * v.leverage()
}

// roll moves the car.
func (v *vehicle) roll() {
	v.road.step(v)
	force := v.torque * v.leverage()
	if !v.running || !v.box.drive {
		force = 0
	}
	if v.shifting {
		force *= 0.6
	}
	if v.car.Gearbox == PowerSplit {
		force = v.hybridForce() * v.engine.command
		if v.engine.command < 0.01 {
			force = v.overrunForce() * clamp(v.speed/3, 0, 1)
		}
	}
	if v.car.Gearbox == Manual && v.speed < 2.2 && v.engine.command < 0.01 {
		force = 0 // clutch pedal down
	}
	resist := v.resist(float64(v.grade))
	if v.speed == 0 {
		resist = v.car.MassKg * gravity * rolling
	}
	brake := 0.0
	if v.driver.brake > 0 {
		brake = v.driver.brake * v.car.MassKg
		if v.driver.reached && v.speed == 0 {
			return
		}
	}
	next := v.speed + (force-resist-brake)/v.car.MassKg*slowDT
	if next < 0.12 && (v.brake || v.driver.act.kind == actPark) {
		next = 0
	}
	v.speed = max(next, 0)
}

// turn finds the engine speed that belongs to speed, torque and clutch.
func (v *vehicle) turn() {
	var base float64
	switch v.car.Gearbox {
	case PowerSplit:
		base = v.hybridRPM()
	case Manual:
		base = v.clutchRPM()
	default:
		base = v.converterRPM()
	}
	if !v.box.drive && v.car.Gearbox != PowerSplit {
		base = v.freeRPM()
	}
	v.rpm = v.settleEngine(base)
}

// freeRPM is the engine without load: in park.
func (v *vehicle) freeRPM() float64 {
	b := &v.box
	want := v.idle() + 5200*v.engine.command
	b.openRPM += (want - b.openRPM) * slowDT / 0.35
	return b.openRPM
}

func (v *vehicle) clutchRPM() float64 {
	b := &v.box
	want := v.turbine
	if !v.holds && !v.shifting {
		want = max(v.turbine, v.idle()+1400*v.engine.command)
	}
	b.clutchRPM += (want - b.clutchRPM) * slowDT / 0.06
	if v.holds && math.Abs(want-b.clutchRPM) < 40 {
		b.clutchRPM = want
	}
	b.torqueRatio, b.openRPM = 1, b.clutchRPM
	return max(b.clutchRPM, v.idle())
}

// converterRPM is turbine speed and slip, the slip shared out between fluid and clutch.
func (v *vehicle) converterRPM() float64 {
	b := &v.box
	want, tr := v.openConverter()
	b.openRPM += (want - b.openRPM) * slowDT / 0.18
	b.slipNow += (v.car.SlipRPM - b.slipNow) * slowDT
	lock := float64(v.lock)
	b.torqueRatio = mix(tr, 1, lock)
	slip := mix(b.openRPM-v.turbine, b.slipNow, lock)
	return v.turbine + slip
}

// openConverter returns the engine speed at which the converter takes the torque, and its
// torque ratio.
func (v *vehicle) openConverter() (rpm, torqueRatio float64) {
	const least = 4 // Nm below which the converter is driven by the car
	idle := v.idle()
	torque := v.torque
	if torque < least {
		return max(idle, v.turbine-min(1.5*(least-torque), 140)), 1
	}
	root := math.Sqrt(torque)
	sr := along(convKR, convSpeedRatio, v.turbine/root)
	rpm = max(ConverterK(sr)*root, v.turbine)
	return max(rpm, idle), ConverterTorqueRatio(sr)
}
