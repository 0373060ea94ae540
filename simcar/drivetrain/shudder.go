package drivetrain

import (
	"math"
	"math/rand/v2"
	"time"
)

// swingProfile is how one kind of swing behaves. Burst lengths: about 1 s (maker bulletin
// T-SB-0096-09) and 2–3 s (trade, weak source), spread to 0.5–5 s by judgement; engine
// swings of 100–190 rpm at 1–3 Hz in grab-release and 3–22 rpm at 9–27 Hz in friction
// shudder were computed for this project with a stick-slip model; 30 rpm and 6 Hz are
// judgement.
type swingProfile struct {
	span              SpanKind
	swing, hz         [2]float64 // ranges to draw the usual values from
	burst             [2]float64 // seconds at half height: median, longest
	every             float64    // mean seconds between bursts
	drift             [2]float64 // share by which the frequency runs away within a burst
	cycle             float64    // s.d. of the length and height of single cycles
	spread            float64    // s.d. of the logarithm of a burst's swing
	lift              float64    // mean slip that comes with it, in half swings
	needsLock, onLock bool
	minGear           int8
}

var swingProfiles = map[FaultKind]swingProfile{
	FaultGrabRelease: {span: GrabRelease, swing: [2]float64{50, 150}, hz: [2]float64{1.1, 5.2}, burst: [2]float64{1.9, 12},
		every: 14, drift: [2]float64{0.1, 0.3}, cycle: 0.10, spread: 0.35, lift: 0.9, needsLock: true, minGear: 3},
	FaultSlipHunting: {span: SlipHunting, swing: [2]float64{40, 110}, hz: [2]float64{1, 2.2}, burst: [2]float64{3, 15},
		every: 18, drift: [2]float64{0.1, 0.3}, cycle: 0.12, spread: 0.3, lift: 0.5, needsLock: true, minGear: 3},
	FaultApply: {span: ApplyShudder, swing: [2]float64{50, 140}, hz: [2]float64{2, 6}, burst: [2]float64{0.9, 1.5},
		drift: [2]float64{0.1, 0.3}, cycle: 0.1, spread: 0.3, lift: 0.3, onLock: true, needsLock: true, minGear: 3},
	FaultFriction: {span: FrictionShudder, swing: [2]float64{3, 22}, hz: [2]float64{8, 25}, burst: [2]float64{2, 8},
		every: 10, drift: [2]float64{0.02, 0.08}, cycle: 0.02, spread: 0.2, needsLock: true, minGear: 3},
	FaultSurge: {span: SpanSurge, swing: [2]float64{25, 90}, hz: [2]float64{0.3, 0.75}, burst: [2]float64{14, 40},
		every: 12, drift: [2]float64{0.03, 0.1}, cycle: 0.05, spread: 0.2, minGear: 2},
	FaultSlipControl: {span: SpanSlipControl, swing: [2]float64{24, 44}, hz: [2]float64{0.6, 2.2}, burst: [2]float64{5, 30},
		every: 6, drift: [2]float64{0.1, 0.3}, cycle: 0.3, spread: 0.1, needsLock: true, minGear: 3},
}

// The least and the greatest swing of one burst of a shudder that may be seen.
const (
	leastSwingRPM = 30
	mostSwingRPM  = 200
)

// freshSeconds is how long after its apply a clutch may begin to shudder from it.
const freshSeconds = 3

// What a burst must have swung to count: cycles, and a share of what it was to reach.
const (
	leastCycles = 0.75
	leastShare  = 0.15
)

// swing is one wave on engine speed that comes in bursts.
type swing struct {
	profile  swingProfile
	rng      *rand.Rand
	usualRPM float64
	usualHz  float64
	every    float64
	always   bool
	passes   float64

	wait    float64
	inAct   int // number of the act for which allowed was drawn
	allowed bool
	fresh   float64 // seconds in which an apply of the clutch may still shudder

	on                bool
	begun             int // slow step at which the burst began
	kmh               float64
	gear              int
	grow, hold, fade  float64 // seconds
	age               float64
	leaving           float64 // 1, or falling to 0 when conditions have ended
	top               float64 // swing of this burst
	ripple            float64
	envelope, slope   float64 // rpm, peak to peak, now and per fast step
	phase             float64 // cycles
	hz, run           float64 // at mid burst; share by which it runs away over the burst
	rise              float64 // share of a cycle in which engine speed rises
	cycleHz, cycleAmp float64
	low, high         float64
	trace             []swingPoint
}

// swingPoint is what the truth is made of, one a slow step.
type swingPoint struct {
	envelope, phase float64
	calm            bool
}

func newSwing(f Fault, p swingProfile, rng *rand.Rand) *swing {
	s := &swing{profile: p, rng: rng, always: f.Always, passes: f.Passes, inAct: -1}
	s.usualRPM = or(f.SwingRPM, rng, p.swing[0], p.swing[1])
	s.usualHz = or(f.Hz, rng, p.hz[0], p.hz[1])
	s.every = f.EverySeconds
	if s.every == 0 {
		s.every = p.every
	}
	s.wait = s.every * rng.Float64()
	if f.Always {
		s.wait = 0
	}
	return s
}

// fits says whether the conditions hold in which this kind shows: warm, light throttle,
// upper gears, cruise band, clutch applied or partly so.
func (s *swing) fits(w *world) bool {
	if !w.running || w.brake || w.shifting || w.gear < s.profile.minGear || w.coolant < 50 {
		return false
	}
	kmh, p := 3.6*w.speed, w.engine.command
	if kmh < 40 || kmh > 112 || p < 0.035 || p > 0.38 {
		return false
	}
	return !s.profile.needsLock || w.lock > 0.5
}

func (s *swing) slow(w *world) {
	fits := s.fits(w)
	if w.lock < 0.6 {
		s.fresh = freshSeconds
	} else {
		s.fresh -= slowDT
	}
	if !s.on {
		if s.due(w, fits) {
			s.begin(w)
		}
		return
	}
	s.age += slowDT
	if fits {
		s.leaving = math.Min(s.leaving+slowDT/0.25, 1)
	} else {
		s.leaving -= slowDT / 0.25
	}
	s.ripple += -s.ripple*slowDT/1.5 + 0.15*math.Sqrt(2*slowDT/1.5)*s.rng.NormFloat64()
	next := s.height()
	s.slope = (next - s.envelope) / fastPerSlow
	calm := w.driver.calm.seconds >= 1
	s.trace = append(s.trace, swingPoint{s.envelope, s.phase, calm})
	if s.leaving <= 0 || (s.age > s.grow+s.hold+s.fade) {
		if span, ok := s.span(); ok {
			w.spans = append(w.spans, span)
		}
		s.on, s.envelope, s.slope = false, 0, 0
		s.wait = s.every * (0.2 + 0.8*s.rng.ExpFloat64())
	}
}

// due says whether a burst begins now.
func (s *swing) due(w *world, fits bool) bool {
	if n := w.driver.actCount; n != s.inAct {
		s.inAct = n
		s.allowed = s.passes == 0 || s.rng.Float64() < s.passes
	}
	if !fits || !s.allowed {
		return false
	}
	if s.profile.onLock {
		return w.lock >= 0.6 && s.fresh > 0
	}
	if w.driver.calm.seconds < 1 {
		return false
	}
	s.wait -= slowDT
	return s.wait <= 0 || s.always
}

func (s *swing) begin(w *world) {
	p, r := &s.profile, s.rng
	s.fresh = 0
	s.on, s.begun, s.age, s.leaving, s.ripple = true, w.n, 0, 1, 0
	s.trace, s.kmh, s.gear = nil, 3.6*w.speed, int(w.gear)
	half := skewed(r, p.burst[0], 2.2, 2.2, p.burst[1])
	half = math.Max(half, 0.5)
	s.grow = clamp(half*within(r, 0.15, 0.6), 0.2, 1.5)
	s.fade = clamp(half*within(r, 0.2, 0.8), 0.2, 2)
	s.hold = math.Max(half-(s.grow+s.fade)/2, 0)
	if s.always {
		s.hold = math.Inf(1)
	}
	s.top = s.usualRPM * math.Exp(p.spread*clamp(r.NormFloat64(), -2, 2))
	if p.span == GrabRelease || p.span == SlipHunting || p.span == ApplyShudder {
		s.top = clamp(s.top, leastSwingRPM, mostSwingRPM)
	}
	s.hz = s.usualHz * within(r, 0.85, 1.15)
	s.run = within(r, p.drift[0], p.drift[1])
	if r.Float64() < 0.5 {
		s.run = -s.run
	}
	s.rise = within(r, 0.25, 0.75)
	s.phase, s.low, s.high = r.Float64(), 0, 0
	s.newCycle()
}

func (s *swing) newCycle() {
	s.cycleHz = math.Exp(s.profile.cycle * clamp(s.rng.NormFloat64(), -2, 2))
	s.cycleAmp = 1 - math.Abs(clamp(s.profile.cycle*s.rng.NormFloat64(), -0.6, 0.6))
}

// height is the envelope at the age of the burst: raised cosines up and down.
func (s *swing) height() float64 {
	x := 1.0
	switch {
	case s.age < s.grow:
		x = 0.5 - 0.5*math.Cos(math.Pi*s.age/s.grow)
	case s.age > s.grow+s.hold:
		x = 0.5 + 0.5*math.Cos(math.Pi*math.Min((s.age-s.grow-s.hold)/s.fade, 1))
	}
	return s.top * x * clamp(1+s.ripple, 0.5, 1.3) * math.Max(s.leaving, 0)
}

func (s *swing) fast(w *world) float64 {
	if !s.on {
		return 0
	}
	s.envelope += s.slope
	before := math.Floor(s.phase)
	s.phase += s.hz * s.drifted() * s.cycleHz * fastDT
	if math.Floor(s.phase) != before {
		s.newCycle()
	}
	half := s.envelope / 2
	n := half * s.cycleAmp * s.wave()
	s.low, s.high = math.Min(s.low, n), math.Max(s.high, n)
	return n + half*s.profile.lift
}

// drifted is the factor on the frequency: a straight run over a burst, a slow wave when
// there is no end.
func (s *swing) drifted() float64 {
	whole := s.grow + s.hold + s.fade
	if math.IsInf(whole, 1) {
		return 1 + s.run*math.Sin(s.age/3)
	}
	return 1 + s.run*(2*s.age/whole-1)
}

// wave is a sawtooth with rounded corners, -1 to 1.
func (s *swing) wave() float64 {
	p := s.phase - math.Floor(s.phase)
	if p < s.rise {
		return -math.Cos(math.Pi * p / s.rise)
	}
	return math.Cos(math.Pi * (p - s.rise) / (1 - s.rise))
}

func (s *swing) open() (Span, bool) {
	if !s.on {
		return Span{}, false
	}
	return s.span()
}

// span makes the truth of a burst: where its envelope passes half of its greatest
// height, how often it swung between, and whether the foot was still.
func (s *swing) span() (Span, bool) {
	trace := s.trace
	top := 0.0
	for _, p := range trace {
		top = math.Max(top, p.envelope)
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
	span := Span{Kind: s.profile.span, SwingRPM: s.high - s.low,
		SpeedKMH: s.kmh, Gear: s.gear,
		Start: time.Duration(s.begun+first) * slowStep, End: time.Duration(s.begun+last) * slowStep,
		Hz: (trace[last].phase - trace[first].phase) / seconds}
	if span.SwingRPM < leastShare*s.top {
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
