package drivetrain

import "math"

// gearbox holds what is engaged and what is being engaged.
type gearbox struct {
	gear, from  int
	left        float64 // seconds of the shift under way
	sinceShift  float64
	drive       bool    // D, or a forward gear
	lockCommand bool    // the computer wants the clutch applied
	lockRate    float64 // of the ramp, 1/s
	sinceLock   float64
	beltRatio   float64
	hold        int  // a fault's or cruise control's wish: -1 one gear down
	lockForbid  bool // a fault's wish
	torqueRatio float64
	openRPM     float64 // engine speed the open converter would give
	clutchRPM   float64
	slipNow     float64 // of the clutch, held or hunting
}

// shift decides gear and lock-up and moves both.
func (w *world) shift() {
	b := &w.box
	b.drive = w.driver.act.kind != actPark
	b.sinceShift += slowDT
	b.sinceLock += slowDT
	switch w.car.Gearbox {
	case PowerSplit:
		w.gear, w.ratio, w.turbine = 0, 0, 0
		return
	case Belt:
		w.moveBelt()
	default:
		w.changeGear()
	}
	w.moveLock()
	w.turbine = w.speed * w.car.turnsPerMS() * float64(w.ratio)
}

func (w *world) changeGear() {
	b := &w.box
	if b.left > 0 {
		b.left -= slowDT
	} else if g := w.wantedGear(); g != b.gear && b.sinceShift > 1.1 {
		b.from, b.gear = b.gear, g
		b.left, b.sinceShift = w.car.ShiftSeconds, 0
		if w.car.Gearbox == Manual {
			b.left *= 1.8
		}
	}
	w.shifting = b.left > 0
	ratio := w.car.overall(b.gear)
	if w.shifting {
		whole := w.car.ShiftSeconds
		if w.car.Gearbox == Manual {
			whole *= 1.8
		}
		x := clamp(1-b.left/whole, 0, 1)
		ratio = mix(w.car.overall(b.from), ratio, x*x*(3-2*x))
	}
	w.ratio, w.gear = float32(ratio), int8(b.gear)
	if !b.drive {
		w.gear = 0
	}
}

// wantedGear is a plain two-line shift map, in engine speed over pedal (common practice,
// no source).
func (w *world) wantedGear() int {
	b, p := &w.box, w.engine.command
	up, down := 1150+600*p+1500*p*p, 960+300*p+1150*p*p
	switch {
	case w.car.Gearbox == Manual:
		up, down = 1500+1800*p, 1100+700*p*p
	case w.car.Diesel:
		up, down = 0.92*up, 0.92*down
	}
	wheel := w.speed * w.car.turnsPerMS()
	g := b.gear
	switch {
	case g < len(w.car.Ratios) && wheel*w.car.overall(g+1) > up:
		g++
	case g > 1 && wheel*w.car.overall(g) < down:
		g--
	}
	if w.speed < 0.5 {
		g = 1
	}
	if b.hold < 0 && g == len(w.car.Ratios) {
		g--
	}
	return g
}

// moveLock applies and releases the clutch. It needs coolant of about 54 °C (a maker's
// road-test procedure, service information 1995) and leaves a second after a shift.
func (w *world) moveLock() {
	b := &w.box
	if w.car.Gearbox == Manual {
		w.holds = w.speed > 2.2 && !w.shifting && w.gear > 0
		return
	}
	p := w.engine.command
	limit := 1120.0
	if b.lockCommand {
		limit = 1000
	}
	wants := w.running && b.drive && !b.lockForbid && !w.brake && w.coolant >= 54 &&
		w.turbine > limit && p < 0.62 && w.gear >= int8(w.car.LockGear)
	if w.car.Gearbox == Belt {
		wants = w.running && b.drive && w.speed > 5 && w.coolant >= 30
	}
	old := len(w.car.Ratios) <= 5
	if old && (b.sinceShift < 1 || w.shifting) {
		wants = false
	}
	if !b.lockCommand && (b.sinceShift < 1 || b.sinceLock < 0.4) {
		wants = false
	}
	if wants != b.lockCommand {
		b.lockCommand, b.sinceLock = wants, 0
		b.lockRate = 1 / within(w.driver.rng, 0.5, 1.6)
	}
	if b.lockCommand {
		w.lock = float32(math.Min(float64(w.lock)+b.lockRate*slowDT, 1))
	} else {
		w.lock = float32(math.Max(float64(w.lock)-4*slowDT, 0))
	}
}

// moveBelt lets the ratio follow the engine speed that the load asks for.
func (w *world) moveBelt() {
	b := &w.box
	wheel := math.Max(w.speed*w.car.turnsPerMS(), 1)
	low, high := w.car.overall(1), w.car.overall(len(w.car.Ratios))
	want := clamp((1150+2600*math.Pow(w.engine.command, 1.1)+4*w.speed)/wheel, high, low)
	if b.beltRatio == 0 {
		b.beltRatio = low
	}
	b.beltRatio += (want - b.beltRatio) * slowDT / 0.5
	w.ratio, w.gear = float32(b.beltRatio), 0
	w.holds = w.lock > 0.95
}
