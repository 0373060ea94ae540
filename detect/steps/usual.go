package steps

import (
	"math"

	"github.com/judder-obd/judder/detect/series"
)

// usual is the swing that this car's engine speed has in three of four moments of steady throttle: its
// own scatter, measured as a shake is.
type usual struct {
	rpm  float64
	next float64 // s
}

// Figures of the usual swing (chosen).
const (
	usualStart = 15.0 // rpm, before any (real drives: the median of 2 s is 14 rpm in a petrol car)
	usualEvery = 1.0  // s
	usualShare = 0.75 // of the moments
	usualStep  = 2.0  // rpm by which one moment moves it
	overUsual  = 2.0  // times, from which it is a shake, as in the detector
	usualKMH   = 30.
)

// learn moves the usual swing a little up or down, so that it comes to the wanted share of moments.
func (u *usual) learn(in *inputs, t float64) {
	if t < u.next {
		return
	}
	u.next = t + usualEvery
	if v, ok := in.speed.Last(); !ok || v.V < usualKMH || in.demand() == nil || in.demand().closed() {
		return
	}
	s := in.swingBefore(t)
	switch {
	case math.IsNaN(s):
	case s > u.rpm:
		u.rpm += usualStep * usualShare
	default:
		u.rpm -= usualStep * (1 - usualShare)
	}
}

// before is the swing of the readings that end at t, and whether that was no wave but a step.
func (w *Watch) before(t float64) (rpm float64, noWave bool) {
	rpm = w.in.swingBefore(t)
	return rpm, turns(between(&w.in.rpm, t-swingOver, t), rpm/2) < leastTurns
}

// ordinary reports whether a swing before is no more than this car has anyway, and it stayed. A car that
// always shakes and stops at the step does not.
func (w *Watch) ordinary(p *pending) bool {
	return p.BeforeRPM < overUsual*w.usual.rpm && !(p.AfterRPM <= p.BeforeRPM/2)
}

// leastTurns is how often engine speed must turn in the time that is looked at: a step turns once, a
// wave of a shudder that has just begun twice.
const leastTurns = 2

// turns counts how often readings turn back by so much.
func turns(r []series.Reading, size float64) (n int) {
	if len(r) == 0 {
		return 0
	}
	low, high, up, down := r[0].V, r[0].V, false, false
	for _, x := range r {
		low, high = min(low, x.V), max(high, x.V)
		switch {
		case !down && high-x.V >= size:
			n++
			up, down, low = false, true, x.V
		case !up && x.V-low >= size:
			n++
			up, down, high = true, false, x.V
		}
	}
	return n
}
