package drivetrain

import "time"

// vehicle is the slow motion: driver, gears, engine and road, in steps of slowStep.
type vehicle struct {
	car Car
	n   int // slow steps done
	frame
	route  route
	driver driver
	box    gearbox
	engine engine
	road   road

	warmSeconds float64 // time constant of the coolant while the engine runs
}

// usualWarmSeconds and winterWarmSeconds are time constants of the coolant (judgement).
const usualWarmSeconds, winterWarmSeconds = 240, 700

// now is the time of the frame being made.
func (v *vehicle) now() time.Duration { return time.Duration(v.n) * slowStep }

// tied reports whether engine and wheels turn together.
func (v *vehicle) tied() bool {
	return v.running && v.ratio > 0 && (v.lock > 0.5 || v.holds)
}

// coldness falls from 1 with the coolant at 20 °C to 0 at 60 °C (judgement).
func (f *frame) coldness() float64 { return clamp((60-float64(f.coolant))/40, 0, 1) }

// warm moves temperatures and voltage.
func (v *vehicle) warm() {
	target, seconds := 89.0, v.warmSeconds
	if !v.running {
		target, seconds = float64(v.intake), 6000
	}
	v.coolant += float32((target - float64(v.coolant)) * slowDT / seconds)
	volts := 14.1
	switch v.engine.on {
	case phaseOff, phaseRunDown:
		volts = 12.4
	case phaseCrank:
		volts = 10.2
	}
	v.volts += float32((volts - float64(v.volts)) * slowDT / 0.15)
	if v.running {
		v.fuel = max(v.fuel-float32(v.rpm*v.load*3e-9), 0)
	}
}
