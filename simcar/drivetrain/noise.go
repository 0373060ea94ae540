package drivetrain

import (
	"math"
	"math/rand/v2"
)

// What is known of the scatter of healthy cars in steady cruise, measured on open data:
// about 10 rpm s.d. about a straight line over 3 s, about 5 rpm of quick scatter (2 to 6
// by car); automatic stops and restarts as below.
const (
	stopMedianS, stopLowS, stopHighS, stopLongestS = 23.5, 3.7, 65.0, 253.0
	flareMedianRPM, flareLowRPM, flareHighRPM      = 1174.0, 935.0, 2317.0
)

// skewed draws from a log-normal whose lower and upper halves have their own widths,
// given as the ratio of the median to the 5 % and of the 95 % to the median.
func skewed(r *rand.Rand, median, below, above, most float64) float64 {
	const z95 = 1.6449
	z := r.NormFloat64()
	spread := math.Log(above) / z95
	if z < 0 {
		spread = math.Log(below) / z95
	}
	return min(median*math.Exp(z*spread), most)
}

// noise is the scatter of engine speed: a quick part (combustion, teeth of the crank
// wheel), a slow part (road, wind, mixture) and a level that drifts with both.
type noise struct {
	rng                *rand.Rand
	quick, slow, lag   float64
	level              float64 // logarithm of the drifting level
	scale              float64 // of this slow step
	quickSD, wanderSD  float64
	quickKeep, quickIn float64
	slowKeep, slowIn   float64
	lagShare           float64
	count              int
}

const (
	quickSeconds = 0.05
	slowSeconds  = 0.45
	lagSeconds   = 0.15
	levelSeconds = 15
	levelSpread  = 0.3
)

func newNoise(car *Car, rng *rand.Rand) noise {
	n := noise{rng: rng, quickSD: car.QuickRPM, wanderSD: car.WanderRPM, scale: 1}
	n.quickKeep = math.Exp(-fastDT / quickSeconds)
	n.quickIn = math.Sqrt(1 - n.quickKeep*n.quickKeep)
	n.slowKeep = math.Exp(-slowDT / slowSeconds)
	n.slowIn = math.Sqrt(1-n.slowKeep*n.slowKeep) * math.Sqrt(1+lagSeconds/slowSeconds)
	n.lagShare = fastDT / lagSeconds
	return n
}

func (n *noise) step(v *vehicle) float64 {
	if n.count%fastPerSlow == 0 {
		n.slow = n.slowKeep*n.slow + n.slowIn*n.rng.NormFloat64()
		n.level += -n.level*slowDT/levelSeconds +
			levelSpread*math.Sqrt(2*slowDT/levelSeconds)*n.rng.NormFloat64()
		n.scale = math.Exp(n.level) * (1 + v.car.ColdShare*v.coldness())
		switch {
		case !v.running:
			n.scale *= 0.3
		case v.speed < 1:
			n.scale *= 0.6
		}
	}
	n.count++
	n.quick = n.quickKeep*n.quick + n.quickIn*n.rng.NormFloat64()
	n.lag += (n.slow - n.lag) * n.lagShare
	return n.scale * (n.quickSD*n.quick + n.wanderSD*n.lag)
}

// road is slope and roughness.
type road struct {
	rng   *rand.Rand
	hills float64 // s.d. of the slope; 0 means the usual 0.009
	wave  float64
}

func (r *road) step(v *vehicle) {
	spread := r.hills
	if spread == 0 {
		spread = 0.009
	}
	const seconds = 12
	step := slowDT * min(v.speed/15, 2) / seconds
	r.wave += -r.wave*step + math.Sqrt(2*step)*r.rng.NormFloat64()
	v.grade += float32((spread*r.wave - float64(v.grade)) * slowDT / 2)
}
