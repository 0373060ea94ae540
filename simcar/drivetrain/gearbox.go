package drivetrain

import "math"

// gearbox holds what is engaged and what is being engaged.
type gearbox struct {
	gear, from  int
	left        float64 // seconds of the shift under way
	sinceShift  float64
	drive       bool    // D, or a forward gear
	lockCommand bool    // the ECU wants the clutch applied
	lockRate    float64 // of the ramp, 1/s
	sinceLock   float64
	beltRatio   float64
	hold        int  // a fault's or cruise control's wish: -1 one gear down
	lockForbid  bool // a fault's wish
	torqueRatio float64
	openRPM     float64 // engine speed the open converter would give
	clutchRPM   float64
	slipNow     float64 // of the clutch, held or hunting
	held        heldRatio
}

// shift decides gear and lock-up and moves both.
func (v *vehicle) shift() {
	b := &v.box
	b.drive = v.driver.act.kind != actPark && v.driver.act.kind != actNeutral
	b.sinceShift += slowDT
	b.sinceLock += slowDT
	switch v.car.Gearbox {
	case PowerSplit:
		v.gear, v.ratio, v.turbine = 0, 0, 0
		return
	case Belt:
		v.moveBelt()
	default:
		v.changeGear()
	}
	v.moveLock()
	v.turbine = v.speed * v.car.turnsPerMS() * float64(v.ratio)
}

func (v *vehicle) changeGear() {
	b := &v.box
	if b.left > 0 {
		b.left -= slowDT
	} else if g := v.wantedGear(); g != b.gear && b.sinceShift > 1.1 {
		b.from, b.gear = b.gear, g
		b.left, b.sinceShift = v.car.ShiftSeconds, 0
		if v.car.Gearbox == Manual {
			b.left *= 1.8
		}
	}
	v.shifting = b.left > 0
	ratio := v.car.overall(b.gear)
	if v.shifting {
		whole := v.car.ShiftSeconds
		if v.car.Gearbox == Manual {
			whole *= 1.8
		}
		x := clamp(1-b.left/whole, 0, 1)
		ratio = mix(v.car.overall(b.from), ratio, x*x*(3-2*x))
	}
	v.ratio, v.gear = float32(ratio), int8(b.gear)
	if !b.drive {
		v.gear = 0
	}
}

// wantedGear is a plain two-line shift map, in engine speed over pedal (common practice,
// no source).
func (v *vehicle) wantedGear() int {
	b, p := &v.box, v.engine.command
	up, down := 1150+600*p+1500*p*p, 960+300*p+1150*p*p
	switch {
	case v.car.Gearbox == Manual:
		up, down = 1500+1800*p, 1100+700*p*p
	case v.car.Diesel:
		up, down = 0.92*up, 0.92*down
	}
	wheel := v.speed * v.car.turnsPerMS()
	g := b.gear
	switch {
	case g < len(v.car.Ratios) && wheel*v.car.overall(g+1) > up:
		g++
	case g > 1 && wheel*v.car.overall(g) < down:
		g--
	}
	if v.speed < 0.5 {
		g = 1
	}
	if b.hold < 0 && g == len(v.car.Ratios) {
		g--
	}
	return g
}

// moveLock applies and releases the clutch. It needs warm coolant and leaves a second
// after a shift.
func (v *vehicle) moveLock() {
	b := &v.box
	if v.car.Gearbox == Manual {
		v.holds = v.speed > 2.2 && !v.shifting && v.gear > 0
		return
	}
	p := v.engine.command
	limit := 1120.0
	if b.lockCommand {
		limit = 1000
	}
	wants := v.running && b.drive && !b.lockForbid && !v.brake && float64(v.coolant) >= v.car.lockFrom() &&
		v.turbine > limit && p < 0.62 && v.gear >= int8(v.car.LockGear)
	if v.car.Gearbox == Belt {
		wants = v.running && b.drive && v.speed > 5 && v.coolant >= 30
	}
	old := len(v.car.Ratios) <= 5
	if old && (b.sinceShift < 1 || v.shifting) {
		wants = false
	}
	if !b.lockCommand && (b.sinceShift < 1 || b.sinceLock < 0.4) {
		wants = false
	}
	if wants != b.lockCommand {
		b.lockCommand, b.sinceLock = wants, 0
		b.lockRate = 1 / within(v.driver.rng, 0.5, 1.6)
	}
	if b.lockCommand {
		v.lock = float32(min(float64(v.lock)+b.lockRate*slowDT, 1))
	} else {
		v.lock = float32(max(float64(v.lock)-4*slowDT, 0))
	}
}

// moveBelt lets the ratio follow the engine speed that the load asks for.
func (v *vehicle) moveBelt() {
	b := &v.box
	wheel := max(v.speed*v.car.turnsPerMS(), 1)
	low, high := v.car.overall(1), v.car.overall(len(v.car.Ratios))
	want := b.held.take(v, clamp((1150+2600*math.Pow(v.engine.command, 1.1)+4*v.speed)/wheel, high, low))
	if b.beltRatio == 0 {
		b.beltRatio = low
	}
	b.beltRatio += (want - b.beltRatio) * slowDT / 0.5
	v.ratio, v.gear = float32(b.beltRatio), 0
	v.holds = v.lock > 0.95
}
