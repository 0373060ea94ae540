package drivetrain

import (
	"math"
	"math/rand/v2"
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

	cycles [2]float64 // length of a burst in cycles, instead of burst
	rise   [2]float64 // share of a cycle in which engine speed rises; zero: 0.25 to 0.75
	swell  float64    // longest growing and fading, seconds; 0: 1.5 and 2
	most   float64    // greatest swing of a burst; 0: mostSwingRPM
}

// grabbing is the usual grab-release, which others differ from in a few figures.
var grabbing = swingProfile{span: GrabRelease, swing: [2]float64{50, 150}, hz: [2]float64{1.1, 5.2}, burst: [2]float64{1.9, 12},
	every: 14, drift: [2]float64{0.1, 0.3}, cycle: 0.10, spread: 0.35, lift: 0.9, needsLock: true, minGear: 3}

func (p swingProfile) with(change func(p *swingProfile)) swingProfile {
	change(&p)
	return p
}

var swingProfiles = map[FaultKind]swingProfile{
	FaultGrabRelease: grabbing,
	// A clutch that lets go at once and grabs slowly: engine speed leaps up and is drawn down.
	FaultSawGrab: grabbing.with(func(p *swingProfile) { p.rise, p.hz = [2]float64{0.06, 0.16}, [2]float64{1.1, 4} }),
	FaultShortGrab: grabbing.with(func(p *swingProfile) {
		p.cycles, p.every, p.hz = [2]float64{1.2, 2.9}, 9, [2]float64{1.2, 4}
	}),
	FaultBigGrab: grabbing.with(func(p *swingProfile) {
		p.swing, p.hz, p.most, p.spread = [2]float64{180, 500}, [2]float64{1, 2.6}, 600, 0.25
	}),
	FaultDriftGrab: grabbing.with(func(p *swingProfile) {
		p.hz, p.drift, p.burst, p.swell = [2]float64{1.8, 4}, [2]float64{0.3, 0.45}, [2]float64{3.5, 12}, 5
	}),
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

// swing is what comes again and again in bursts of one kind.
type swing struct {
	profile  swingProfile
	rng      *rand.Rand
	usualRPM float64
	usualHz  float64
	every    float64
	always   bool
	passes   float64
	cold     bool

	wait    float64
	inAct   int // number of the act for which allowed was drawn
	allowed bool
	fresh   float64 // seconds in which an apply of the clutch may still shudder

	on    bool
	burst burst // the one under way
}

func newSwing(f Fault, p swingProfile, rng *rand.Rand) *swing {
	s := &swing{profile: p, rng: rng, always: f.Always, passes: f.Passes, cold: f.Cold, inAct: -1}
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

// fits reports whether the conditions hold in which this kind shows: warm, light throttle,
// upper gears, cruise band, clutch applied or partly so.
func (s *swing) fits(w *world) bool {
	if !w.running || w.brake || w.shifting || w.gear < s.profile.minGear || (w.coolant < 50 && !s.cold) {
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
	if s.burst.carryOn(w, fits) {
		return
	}
	if span, ok := s.burst.span(); ok {
		w.spans = append(w.spans, span)
	}
	s.on = false
	s.wait = s.every * (0.2 + 0.8*s.rng.ExpFloat64())
}

// due reports whether a burst begins now.
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
	s.fresh, s.on = 0, true
	s.burst = burst{profile: p, rng: r, begun: w.n, leaving: 1, kmh: 3.6 * w.speed, gear: int(w.gear)}
	b := &s.burst
	b.last(p, r)
	if s.always {
		b.hold = math.Inf(1)
	}
	b.top = s.usualRPM * math.Exp(p.spread*clamp(r.NormFloat64(), -2, 2))
	if p.span == GrabRelease || p.span == SlipHunting || p.span == ApplyShudder {
		b.top = clamp(b.top, leastSwingRPM, max(p.most, mostSwingRPM))
	}
	b.hz = s.usualHz * within(r, 0.85, 1.15)
	if p.cycles[1] > 0 {
		b.lastCycles(within(r, p.cycles[0], p.cycles[1]))
	}
	b.run = within(r, p.drift[0], p.drift[1])
	if r.Float64() < 0.5 {
		b.run = -b.run
	}
	rise := p.rise
	if rise[1] == 0 {
		rise = [2]float64{0.25, 0.75}
	}
	b.rise = within(r, rise[0], rise[1])
	b.phase = r.Float64()
	b.newCycle()
}

// last draws how long the burst grows, holds and fades.
func (b *burst) last(p *swingProfile, r *rand.Rand) {
	half := skewed(r, p.burst[0], 2.2, 2.2, p.burst[1])
	half = max(half, 0.5)
	b.grow = clamp(half*within(r, 0.15, 0.6), 0.2, max(p.swell, 1.5))
	b.fade = clamp(half*within(r, 0.2, 0.8), 0.2, max(p.swell, 2))
	b.hold = max(half-(b.grow+b.fade)/2, 0)
}

// lastCycles makes the burst so many cycles long at half of its height.
func (b *burst) lastCycles(cycles float64) {
	half := cycles / b.hz
	b.grow, b.fade = min(0.3*half, 0.3), min(0.3*half, 0.3)
	b.hold = half - (b.grow+b.fade)/2
}

func (s *swing) fast(*world) float64 {
	if !s.on {
		return 0
	}
	return s.burst.step()
}

func (s *swing) open() (Span, bool) {
	if !s.on {
		return Span{}, false
	}
	return s.burst.span()
}
