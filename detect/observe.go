package detect

import "math"

// seen collects what is not shudder.
type seen struct {
	all   []Observation
	open  [kindCount]int // index+1 of the open observation of each kind
	steps stepWatch
	slowT float64 // s, last look for a slow swing
	slow  bool
	slows int // looks running that saw a slow swing
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

// observe looks at an evaluation for what is not shudder: irregular scatter, a slow swing,
// and repeated steps of the ratio.
func (d *Detector) observe(e *evaluation, why Reason) {
	th := d.th
	if d.scattering >= th.scatterConfirm && !d.book.near(e.first, th.join) && e.fitted && e.restPart > th.scatterPart {
		d.seen.note(IrregularScatter, e.first, e.last, e.swing, th.join)
	}
	d.observeSteps(e.t, why)
	if e.t-d.seen.slowT < th.slowEvery {
		return
	}
	d.seen.slowT, d.seen.slow = e.t, false
	if why != Judged || !d.observeSlow(e) {
		d.seen.slows = 0
	}
}

// observeSlow fits a slow wave to a longer window and reports whether there is one.
func (d *Detector) observeSlow(e *evaluation) bool {
	th := d.th
	if s := &d.seen.steps; s.n >= 3 && e.t-s.turns[0].t < th.slowWindow {
		return false // steps make a slow swing too
	}
	w := d.back(e.t, th.slowWindow)
	if len(w) < th.minReadings || e.t-w[0].t < 0.8*th.slowWindow {
		return false
	}
	w = w[max(0, len(w)-maxWindow):]
	r := detrend(d.work[:], w, fitLine(w))
	d.fit.load(r)
	d.fit.allow(drifting)
	rms := math.Sqrt(d.fit.total / float64(d.fit.n))
	if rms*sineRatio < max(th.slowLeast, th.slowFloors*e.floor) {
		return false
	}
	slow := d.fit.best(th.slowSeenLow, th.slowSeenHigh)
	quick := d.fit.best(th.fitLow, th.fitHigh)
	steps := d.fit.steps()
	if slow.share < th.slowShare || quick.share > slow.share || steps[1] > slow.share {
		return false
	}
	d.seen.slows++
	if d.seen.slows < th.slowConfirm {
		return true
	}
	d.seen.slow = true
	d.seen.note(SlowSwing, w[0].t, e.t, rms*math.Sqrt(slow.share)*sineRatio, th.join)
	return true
}

// observeSteps follows the ratio. Steps faster than half a period of a slow swing look like it
// and do not count.
func (d *Detector) observeSteps(t float64, why Reason) {
	th, s := d.th, &d.seen.steps
	switch why {
	case Judged, RatioStepped, NotTied, FloorNotLearnt:
	default:
		s.reset()
		return
	}
	v, ok := d.conditions.speed.last()
	w := d.conditions.ratio.since(t - 0.05)
	if !ok || v.v < th.stepSpeed || len(w) == 0 || d.book.near(t, th.join) {
		s.reset()
		return
	}
	if !s.add(t, w[len(w)-1].v, th.stepSize) {
		return
	}
	from, size, ok := s.repeated(int(th.stepTurns), th.stepLeast, th.stepGap)
	if !ok || d.conditions.notTied(th) || d.seen.slows > 1 {
		return
	}
	kind := LockUpCycling
	if size >= th.gearSize {
		kind = GearHunting
	}
	last, _ := d.rpm.last()
	d.seen.note(kind, from, t, size*last.v, th.stepGap)
}
