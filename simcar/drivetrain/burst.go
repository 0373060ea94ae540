package drivetrain

import (
	"math"
	"math/rand/v2"
	"time"
)

// What a burst must have swung to count: cycles, and a share of what it was to reach.
const (
	leastCycles = 0.75
	leastShare  = 0.15
)

// burst is one burst of a swing: an envelope that grows, holds and fades, and the wave in it.
type burst struct {
	profile *swingProfile
	rng     *rand.Rand

	begun            int // slow step at which it began
	kmh              float64
	gear             int
	grow, hold, fade float64 // seconds
	age              float64
	leaving          float64 // 1, or falling to 0 when conditions have ended
	top              float64 // its greatest swing
	ripple           float64
	envelope, slope  float64 // rpm, peak to peak, now and per fast step
	low, high        float64
	trace            []swingPoint
	cycles
}

// cycles is the wave within an envelope.
type cycles struct {
	phase             float64 // cycles
	hz, run           float64 // at mid burst; share by which it runs away over the burst
	rise              float64 // share of a cycle in which engine speed rises
	cycleHz, cycleAmp float64 // of the cycle under way
}

// swingPoint is what the truth is made of, one a slow step.
type swingPoint struct {
	envelope, phase float64
	calm            bool
}

// carryOn does a slow step and reports whether the burst goes on.
func (b *burst) carryOn(w *world, fits bool) bool {
	b.age += slowDT
	if fits {
		b.leaving = min(b.leaving+slowDT/0.25, 1)
	} else {
		b.leaving -= slowDT / 0.25
	}
	b.ripple += -b.ripple*slowDT/1.5 + 0.15*math.Sqrt(2*slowDT/1.5)*b.rng.NormFloat64()
	next := b.height()
	b.slope = (next - b.envelope) / fastPerSlow
	calm := w.driver.calm.seconds >= 1
	b.trace = append(b.trace, swingPoint{b.envelope, b.phase, calm})
	return b.leaving > 0 && b.age <= b.grow+b.hold+b.fade
}

// step does a fast step and returns what it adds to engine speed, rpm.
func (b *burst) step() float64 {
	b.envelope += b.slope
	before := math.Floor(b.phase)
	b.phase += b.hz * b.drifted() * b.cycleHz * fastDT
	if math.Floor(b.phase) != before {
		b.newCycle()
	}
	half := b.envelope / 2
	n := half * b.cycleAmp * b.wave()
	b.low, b.high = min(b.low, n), max(b.high, n)
	return n + half*b.profile.lift
}

func (b *burst) newCycle() {
	b.cycleHz = math.Exp(b.profile.cycle * clamp(b.rng.NormFloat64(), -2, 2))
	b.cycleAmp = 1 - math.Abs(clamp(b.profile.cycle*b.rng.NormFloat64(), -0.6, 0.6))
}

// height is the envelope at the age of the burst: raised cosines up and down.
func (b *burst) height() float64 {
	x := 1.0
	switch {
	case b.age < b.grow:
		x = 0.5 - 0.5*math.Cos(math.Pi*b.age/b.grow)
	case b.age > b.grow+b.hold:
		x = 0.5 + 0.5*math.Cos(math.Pi*min((b.age-b.grow-b.hold)/b.fade, 1))
	}
	return b.top * x * clamp(1+b.ripple, 0.5, 1.3) * max(b.leaving, 0)
}

// drifted is the factor on the frequency: a straight run over a burst, a slow wave when
// there is no end.
func (b *burst) drifted() float64 {
	whole := b.grow + b.hold + b.fade
	if math.IsInf(whole, 1) {
		return 1 + b.run*math.Sin(b.age/3)
	}
	return 1 + b.run*(2*b.age/whole-1)
}

// wave is a sawtooth with rounded corners, -1 to 1.
func (c *cycles) wave() float64 {
	p := c.phase - math.Floor(c.phase)
	if p < c.rise {
		return -math.Cos(math.Pi * p / c.rise)
	}
	return math.Cos(math.Pi * (p - c.rise) / (1 - c.rise))
}

// span makes the truth of a burst: where its envelope passes half of its greatest
// height, how often it swung between, and whether the foot was still.
func (b *burst) span() (Span, bool) {
	trace := b.trace
	top := 0.0
	for _, p := range trace {
		top = max(top, p.envelope)
	}
	first, last := -1, 0
	for i, p := range trace {
		if p.envelope >= top/2 {
			last = i
			if first < 0 {
				first = i
			}
		}
	}
	if first < 0 || trace[last].phase-trace[first].phase < leastCycles {
		return Span{}, false // cut off before it swung
	}
	seconds := float64(last-first) * slowDT
	span := Span{Kind: b.profile.span, SwingRPM: b.high - b.low,
		SpeedKMH: b.kmh, Gear: b.gear,
		Start: time.Duration(b.begun+first) * slowStep, End: time.Duration(b.begun+last) * slowStep,
		Hz: (trace[last].phase - trace[first].phase) / seconds}
	if span.SwingRPM < leastShare*b.top {
		return Span{}, false
	}
	calm := 0
	for _, p := range trace[first : last+1] {
		if p.calm {
			calm++
		}
	}
	span.CalmShare = float64(calm) / float64(last-first+1)
	span.SteadyFoot = span.CalmShare == 1
	return span, true
}
