package detect

import "math"

// seen collects what is not shudder.
type seen struct {
	all   []Observation
	open  [kindCount]int // index+1 of the open observation of each kind
	steps stepWatch
	slowT float64 // s, last look for a slow swing
	slow  bool
	hz    float64 // of the slow swing
	slows int     // looks running that saw a slow swing
}

const kindCount = 4

// note adds a stretch to the open observation of its kind, or begins one.
func (s *seen) note(kind ObservationKind, from, to, swing, join float64) {
	if i := s.open[kind]; i > 0 {
		o := &s.all[i-1]
		if from-o.End.Seconds() <= join {
			o.Start = min(o.Start, seconds(from))
			o.End = max(o.End, seconds(to))
			o.SwingRPM = max(o.SwingRPM, swing)
			return
		}
	}
	s.all = append(s.all, Observation{Start: seconds(from), End: seconds(to), Kind: kind, SwingRPM: swing})
	s.open[kind] = len(s.all)
}

// count is how many stretches of a kind there are.
func (s *seen) count(kind ObservationKind) (n int) {
	for i := range s.all {
		if s.all[i].Kind == kind {
			n++
		}
	}
	return n
}

func (s *seen) finish() { s.open = [kindCount]int{} }

// observer looks for what swings and is no shudder.
type observer struct{ *Detector }

// observe looks at an evaluation for what is not shudder: irregular scatter, a slow swing,
// and repeated steps of the ratio.
func (d observer) observe(e *look, why Reason) {
	d.observeRough(e, why)
	d.observeSteps(e.t, why)
	if e.t-d.seen.slowT < slowEvery {
		return
	}
	d.seen.slowT, d.seen.slow = e.t, false
	if why != Judged || !d.observeSlow(e) {
		d.seen.slows = 0
	}
}

// observeSlow fits a slow wave to a longer window and reports whether there is one.
func (d observer) observeSlow(e *look) bool {
	th := d.th
	if s := &d.seen.steps; s.n >= 3 && e.t-s.turns[0].t < slowWindow {
		return false // steps make a slow swing too
	}
	w := d.back(e.t, slowWindow)
	if len(w) < leastReadings || e.t-w[0].T < 0.8*slowWindow {
		return false
	}
	w = w[max(0, len(w)-maxWindow):]
	rms := parabolaRMS(w)
	if math.IsNaN(e.usual) || rms*sineRatio < max(slowLeast, e.visible()) {
		return false
	}
	d.fit.load(w, &white)
	slow := d.fit.best(slowSeenLow, slowSeenHigh, drifting)
	if slow.part < slowShare*d.fit.total {
		return false
	}
	quick := d.fit.best(th.LowHz, th.HighHz, drifting)
	if quick.part > slow.part || d.fit.steps(mostSteps) > slow.part {
		return false
	}
	d.seen.slows++
	if d.seen.slows < slowConfirm {
		return true
	}
	d.seen.slow, d.seen.hz = true, slow.hz
	d.seen.note(SlowSwing, w[0].T, e.t, d.fit.swing(slow.hz, drifting), th.Join)
	return true
}

// observeSteps follows the ratio. Steps faster than half a period of a slow swing look like it
// and do not count.
func (d observer) observeSteps(t float64, why Reason) {
	th, s := d.th, &d.seen.steps
	switch why {
	case Judged, RatioStepped, NotTied, FloorNotLearnt, LoadNotLearnt:
	default:
		s.reset()
		return
	}
	v, ok := d.conditions.speed.Last()
	w := d.conditions.ratio.Since(t - 0.05)
	if !ok || v.V < stepSpeed || len(w) == 0 || d.book.near(t, th.Join) {
		s.reset()
		return
	}
	if !s.add(t, w[len(w)-1].V, stepSize) {
		return
	}
	from, size, ok := s.repeated(int(stepTurns), stepLeast, stepGap)
	if !ok || d.conditions.notTied(th) || d.seen.slows > 1 {
		return
	}
	kind := LockUpCycling
	if size >= gearSize && !d.conditions.reportedGear.held(from, t) { // else the gear was the same, and it is the clutch
		kind = GearHunting
	}
	last, _ := d.in.rpm.Last()
	d.seen.note(kind, from, t, size*last.V, stepGap)
}

// observeRough notes engine speed that moves without a wave: beyond the limit, or by much more than
// under other loads, as with a misfire that comes only under load.
func (d observer) observeRough(e *look, why Reason) {
	rough := d.roughLoad(e) || e.rms*sineRatio > max(e.limit, e.visible()) && e.fit.healthy == parabola
	if why != Judged || e.passed {
		d.rule.rough = 0
		return
	}
	if !rough {
		d.rule.rough = max(0, d.rule.rough-1)
		return
	}
	if d.rule.rough++; d.rule.rough >= roughConfirm && !d.book.near(e.t, d.th.Join) {
		d.seen.note(IrregularScatter, e.t-d.th.FloorSpan, e.t, e.rms*sineRatio, d.th.Join)
	}
}

// roughLoad reports whether this load is usually much rougher than the smoothest, and is so now.
func (d observer) roughLoad(e *look) bool {
	if s := &d.seen.steps; s.n > 0 && e.t-s.turns[0].t < stepGap {
		return false // steps of the ratio move engine speed, too
	}
	return e.rms >= roughLeast && e.usual >= roughLeast && e.usual >= roughTimes*d.floor.smoothest(e.colour, d.th)
}

const (
	slowShare    = 0.87  // of a window that the slow wave must explain (bench)
	stepSize     = 0.055 // ln of the ratio, a step (J1979: whole km/h are 0.03 at 35)
	stepTurns    = 5     // changes in a row (bench)
	stepLeast    = 1.8   // s between them at least (bench)
	stepGap      = 20.   // s between them at most (trade: hunting 5 to 20 s a period)
	gearSize     = 0.13  // ln of the ratio: from here it is a gear, not the clutch (trade: lock-up 80 to 250 rpm, gears 15 to 35 %)
	roughLeast   = 10.   // rpm r.m.s. (real: steady cruise has about 10 about a line)
	roughTimes   = 2.2   // times the smoothest load (bench)
	roughConfirm = 20    // looks running
	slowEvery    = 1.    // s, how often slow swings are looked for (chosen)
	slowWindow   = 7.    // s, over how long (chosen)
	slowConfirm  = 3     // looks running
	slowLeast    = 40.   // rpm (trade: surge from 25 rpm)
	slowSeenLow  = 0.28  // Hz that count as slow swing (trade: 0.3 to 0.8)
	slowSeenHigh = 0.8
	stepSpeed    = 35 // km/h, from here a step of the ratio can be told from the rounding of road speed (J1979)
)
