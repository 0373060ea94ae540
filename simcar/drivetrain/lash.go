package drivetrain

import (
	"math"
	"math/rand/v2"
)

// lash is play in the drive line: now and then, at a foot that hardly moves, the torque
// changes sign or a mount gives way, and engine speed swings once and settles. In a window of
// 2 or 3 s that reads as a wave of 1.3 to 1.9 Hz. Sizes are judgement.
type lash struct {
	rng  *rand.Rand
	mode mode
	wait float64
	left float64 // of the blow under way, seconds
	spanner
}

// lashSeconds is how long a blow can be seen.
const lashSeconds = 1.0

func (l *lash) slow(w *world) {
	l.kind, l.gap = SpanLash, 0.1
	if l.mode.hz == 0 {
		l.mode.set(1.6, 0.4, w.car.InertiaKgM2)
	}
	if l.wait -= slowDT; l.wait <= 0 && w.tied() && w.speed > 9 && !w.brake && !w.shifting && w.engine.command > 0.02 {
		l.wait = within(l.rng, 5, 20)
		l.mode.set(within(l.rng, 1.3, 1.9), within(l.rng, 0.2, 0.45), w.car.InertiaKgM2)
		size := within(l.rng, 40, 130)
		if l.rng.Float64() < 0.5 {
			size = -size
		}
		l.mode.kick(size)
		l.left = lashSeconds
	}
	if l.left -= slowDT; l.left > 0 {
		l.alive(w)
	}
	l.tick(w)
}

func (l *lash) fast(*world) float64 {
	n := l.mode.step()
	l.see(n)
	return n
}

// tyre is a wheel out of round: its first order reaches the crankshaft through the locked
// drive line, 7 to 15 Hz at 50 to 100 km/h, too fast for what is read.
type tyre struct {
	rng       *rand.Rand
	amplitude float64 // rpm
	turn      float64
	spanner
}

func (y *tyre) slow(w *world) {
	y.kind, y.gap = SpanTyre, 2
	if w.tied() && w.speed > 8 {
		y.alive(w)
	}
	y.tick(w)
}

func (y *tyre) fast(w *world) float64 {
	if !w.tied() || w.speed <= 8 {
		return 0
	}
	y.turn += w.car.TyreHz(3.6*w.speed) * fastDT
	n := y.amplitude * clamp(w.speed/22, 0, 1.5) * math.Sin(2*math.Pi*y.turn)
	y.see(n)
	return n
}
