// Package drivetrain is the physics and the scripts of a simulated car: engine, converter
// with its lock-up clutch, gearbox, driver, road, and the faults that make such a car shake.
//
// It is pure and seeded: the same [Spec] gives the same drive, bit for bit, and no clock is
// read. A [Drive] gives the true state at any time ([Drive.At]), what an engine ECU
// would report then ([Drive.Report]), a whole log of readings ([Drive.Readings]) and what
// really happened ([Drive.Truth]).
//
// The slow motion (driver, gears, road) is integrated in steps of 20 ms. What shakes the
// crankshaft is added in steps of 5 ms in closed form: decaying rotations for the
// torsional modes, phase-running waves for shudder. Nothing stiff is integrated, which is
// why an hour of driving takes a fraction of a second.
//
// Figures come from the sources named beside them; "computed here" and "common practice,
// no source" mean what they say. No public trace of engine speed in lock-up clutch
// shudder was found, so the shapes in shudder.go and burst.go are a judgement.
package drivetrain

import (
	"slices"
	"time"
)

const (
	slowStep    = 20 * time.Millisecond
	fastPerSlow = 4
	fastStep    = slowStep / fastPerSlow
	slowDT      = float64(slowStep) / float64(time.Second)
	fastDT      = slowDT / fastPerSlow
)

// Spec says which drive to lay out. The zero value is ten minutes of a healthy car in the
// city.
type Spec struct {
	Seed   uint64        // decides the car, the driver, the road and the noise
	Length time.Duration // span that Truth and Readings cover; 0 means 10 minutes
	Script Script        // where and how it is driven, and what is wrong; "" means City
	Car    *Car          // nil: drawn from the seed, then fitted to the script
	Faults []Fault       // added to those of the script
}

// Drive is one scripted drive. It is laid out as far as it was asked for, so a new one
// costs nothing and an endless one grows by about 27 MB an hour. It is not safe for
// concurrent use.
type Drive struct {
	spec   Spec
	world  *world
	frames []frame   // at n·slowStep
	rpm    []float32 // at n·fastStep
	sum    []float64 // integral of rpm up to n·fastStep, in rpm·s
}

// New prepares a drive. It panics when the script is not one of [Scripts]: that is a
// mistake of the programmer, not of a car.
func New(spec Spec) *Drive {
	if spec.Length <= 0 {
		spec.Length = 10 * time.Minute
	}
	if spec.Script == "" {
		spec.Script = City
	}
	row, ok := scriptRow(spec.Script)
	if !ok {
		panic("drivetrain: no such script: " + string(spec.Script))
	}
	d := &Drive{spec: spec, world: newWorld(spec, row)}
	d.push(d.world.frame, []float32{float32(d.world.rpm)})
	return d
}

// Car returns the car that is driven.
func (d *Drive) Car() Car { return d.world.car }

// Length returns the span that Truth and Readings cover.
func (d *Drive) Length() time.Duration { return d.spec.Length }

func (d *Drive) push(f frame, fast []float32) {
	d.frames = append(d.frames, f)
	for _, n := range fast {
		last := len(d.rpm) - 1
		area := 0.0
		if last >= 0 {
			area = d.sum[last] + float64(d.rpm[last]+n)/2*fastDT
		}
		d.rpm = append(d.rpm, n)
		d.sum = append(d.sum, area)
	}
}

// extend lays the drive out beyond t.
func (d *Drive) extend(t time.Duration) {
	need := int(t/slowStep) + 2
	if whole := int(d.spec.Length/slowStep) + 2; need > cap(d.frames) && need > whole/2 && whole > len(d.frames) {
		d.frames = slices.Grow(d.frames, whole-len(d.frames))
		d.rpm = slices.Grow(d.rpm, whole*fastPerSlow-len(d.rpm))
		d.sum = slices.Grow(d.sum, whole*fastPerSlow-len(d.sum))
	}
	var fast [fastPerSlow]float32
	for len(d.frames) < need {
		d.world.step(fast[:])
		d.push(d.world.frame, fast[:])
	}
}

// At returns the true state at t since the start; before 0 it is the state at 0. Past the
// length of the drive the script simply goes on.
func (d *Drive) At(t time.Duration) State {
	t = max(t, 0)
	d.extend(t)
	i := int(t / slowStep)
	share := float64(t%slowStep) / float64(slowStep)
	s := d.frames[i].between(&d.frames[i+1], share, &d.world.car)
	s.At = t
	s.RPM = d.rpmAt(t)
	s.SlipRPM = s.RPM - s.TurbineRPM
	return s
}

func (d *Drive) rpmAt(t time.Duration) float64 {
	j := int(t / fastStep)
	share := float64(t%fastStep) / float64(fastStep)
	return float64(d.rpm[j]) + share*float64(d.rpm[j+1]-d.rpm[j])
}

// MeanRPM returns the mean engine speed over the span that ends at t, in rpm, as an engine
// ECU takes it over a firing segment or a revolution.
func (d *Drive) MeanRPM(t, over time.Duration) float64 {
	t = max(t, 0)
	d.extend(t)
	from := max(t-over, 0)
	if t-from < fastStep/5 {
		return d.rpmAt(t)
	}
	return (d.areaAt(t) - d.areaAt(from)) / (t - from).Seconds()
}

func (d *Drive) areaAt(t time.Duration) float64 {
	j := int(t / fastStep)
	dt := (t - time.Duration(j)*fastStep).Seconds()
	slope := float64(d.rpm[j+1]-d.rpm[j]) / fastDT
	return d.sum[j] + dt*(float64(d.rpm[j])+slope*dt/2)
}

func clamp(x, low, high float64) float64 { return min(max(x, low), high) }
