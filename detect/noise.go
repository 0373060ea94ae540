package detect

import (
	"math"

	"github.com/judder-obd/judder/detect/series"
)

// noise is a model of how engine speed scatters by itself. Engine speed adds up the torque of single
// combustions and forgets them within about a second: it wanders. What the ECU averages and rounds is
// quick beside that, and independent from reading to reading. For scatter of unit size
//
//	cov(τ) = wander · (m·e^(−τ/m) − s·e^(−τ/s)) / (m − s),  and quick more at τ = 0
//
// with m the memory of the wander and s the time over which it is smooth.
type noise struct {
	slow, fast    float64 // 1/m and 1/s
	wander, quick float64 // variances
}

// white is scatter without memory; its two rates matter to nothing, but must differ.
var white = noise{slow: 1, fast: 2, quick: 1}

// quickParts are the colours of scatter that are told apart: the quick part beside the wander, as s.d.
var quickParts = [...]float64{0.1, 0.25, 0.5, 1.2}

const (
	colours     = len(quickParts)
	usualColour = 0 // the likeliest in both worlds of the bench, before anything is learnt
)

// newNoises returns the scatter of each colour.
func newNoises(th *Tuning) (of [colours]noise) {
	for k, quick := range quickParts {
		of[k] = newNoise(quick, th.Wander, th.Smooth)
	}
	return of
}

// newNoise returns scatter of unit size: its mean square about a parabola over 1.6 s at ten readings a
// second is 1.
func newNoise(quick, memory, smooth float64) noise {
	n := noise{slow: 1 / memory, fast: 1 / smooth, wander: 1, quick: quick * quick}
	const readings, interval = 17, 0.1
	var times [readings]series.Reading
	for i := range times {
		times[i].T = float64(i)
	}
	var w window
	w.load(times[:], &white)
	p := &w.p
	sum := 0.0
	for i := range readings {
		for j := range readings {
			c := n.covariance(interval * math.Abs(float64(i-j)))
			if i == j {
				sum += c
			}
			sum -= c * (p[0][i]*p[0][j] + p[1][i]*p[1][j] + p[2][i]*p[2][j])
		}
	}
	unit := sum / (readings - 3)
	n.wander, n.quick = n.wander/unit, n.quick/unit
	return n
}

// covariance is that of two readings t s apart.
func (n *noise) covariance(t float64) float64 {
	c := n.wander * (n.fast*math.Exp(-n.slow*t) - n.slow*math.Exp(-n.fast*t)) / (n.fast - n.slow)
	if t == 0 {
		c += n.quick
	}
	return c
}

// innovation is how the scatter of a reading follows from those before it: a Kalman filter of the
// wander and its rate, which is exact for this noise at any times.
type innovation struct {
	f00, f01, f10, f11 float64 // from the state at the reading before to this one
	k0, k1             float64 // gain
	inv                float64 // 1 / s.d. of what is new
}

// innovations fills in the innovation of each reading, and returns ln of the product of their
// variances.
func (n *noise) innovations(of []innovation, r []series.Reading) (logDet float64) {
	// The state's covariance, and what it comes to in the long run: diag(wander, rate).
	rate := n.wander * n.slow * n.fast
	p00, p01, p11 := n.wander, 0.0, rate
	for i := range of {
		x := innovation{f00: 1, f11: 1}
		if i > 0 {
			dt := r[i].T - r[i-1].T
			a, b, d := math.Exp(-n.slow*dt), math.Exp(-n.fast*dt), n.fast-n.slow
			x.f00, x.f01 = (n.fast*a-n.slow*b)/d, (a-b)/d
			x.f10, x.f11 = -n.slow*n.fast*x.f01, (n.fast*b-n.slow*a)/d
			d00, d01, d11 := p00-n.wander, p01, p11-rate
			g00, g01 := x.f00*d00+x.f01*d01, x.f00*d01+x.f01*d11
			g10, g11 := x.f10*d00+x.f11*d01, x.f10*d01+x.f11*d11
			p00, p01, p11 = n.wander+g00*x.f00+g01*x.f01, g00*x.f10+g01*x.f11, rate+g10*x.f10+g11*x.f11
		}
		s := p00 + n.quick
		x.k0, x.k1, x.inv = p00/s, p01/s, 1/math.Sqrt(s)
		p00, p01, p11 = p00-x.k0*p00, p01-x.k0*p01, p11-x.k1*p01
		logDet += math.Log(s)
		of[i] = x
	}
	return logDet
}
