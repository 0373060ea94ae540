package detect

import "math"

// rule is what an alarm needs beside the look of now.
type rule struct {
	lookT     float64            // s, last look
	margins   [mostLooks]float64 // nats, of the last looks
	alarmT    float64            // s, last alarm
	movedT    float64            // s, the demand was last seen moving or closed
	steppedT  float64            // s, the ratio last stepped
	learnLess float64            // s in which the floor learnt nothing
	rough     int                // looks running over the limit without a wave, steps or a slow wave
}

// mostLooks is how many looks may have a say in an alarm.
const mostLooks = 6

func newRule() rule {
	old := math.Inf(-1)
	r := rule{alarmT: old, movedT: old, steppedT: old}
	r.restart(old)
	return r
}

// restart forgets what the looks before a gap of the link showed.
func (r *rule) restart(t float64) {
	r.lookT, r.rough = t, 0
	for i := range r.margins {
		r.margins[i] = math.Inf(-1)
	}
}

// decide reports whether there is an alarm after this look: the last few have together what the rule
// wants.
func (d *Detector) decide(e *look) bool {
	r, th := &d.rule, d.th
	copy(r.margins[1:], r.margins[:])
	r.margins[0] = e.margin
	sum := 0.0
	for _, m := range r.margins[:int(th.Looks)] {
		sum += max(m, th.LookLeast)
	}
	return sum >= 0 && e.margin >= th.LookLeast
}

// conclude decides about the alarm and keeps the books.
func (d *Detector) conclude(e *look, why Reason) {
	dt := 0.0
	if !math.IsInf(d.rule.lookT, -1) {
		dt = e.t - d.rule.lookT
	}
	alarmed := d.decide(e)
	if alarmed {
		d.rule.alarmT = e.t
		if !d.state.Alarmed {
			d.floor.forget()
		}
		e.inStep = d.demandInStep(e)
		e.fresh = d.countFresh(e)
		d.book.add(e, &d.conditions, d.th, d.in.interval, d.in.spread)
	}
	observer{d}.observe(e, why)
	d.account(e, why, dt)
	d.latest, d.reason, d.rule.lookT = *e, why, e.t
	d.setState(e, why, alarmed)
}

// countFresh counts the readings of this event that were not counted yet.
func (d *Detector) countFresh(e *look) (n int) {
	for _, r := range d.in.all.Since(max(d.book.readT, e.first)) {
		if r.T > d.book.readT && r.T <= e.last {
			n++
		}
	}
	d.book.readT = max(d.book.readT, e.last)
	return n
}

// demandInStep reports whether the driver's demand swings at the frequency of engine speed,
// within the range that counts as steady.
func (d *Detector) demandInStep(e *look) bool {
	demand := d.conditions.demand()
	if demand == nil || e.fit.hz == 0 {
		return false
	}
	w := demand.Since(e.t - judgedSpan)
	if len(w) < leastReadings || len(w) > maxWindow {
		return false
	}
	d.fit.load(w, &white)
	x := d.fit.best(e.fit.hz, e.fit.hz, plain)
	return x.part >= inStepShare*d.fit.total && d.fit.swing(x.hz, plain) >= inStepPct
}

// The driver's demand is in step with engine speed when a wave of the same frequency explains that
// share of its movement and has so many % peak to peak (chosen: J1979 gives 0.4 % steps).
const (
	inStepShare = 0.6
	inStepPct   = 1.5
)

func (d *Detector) setState(e *look, why Reason, alarmed bool) {
	s := &d.state
	s.At, s.Reason, s.Alarmed, s.Slow = seconds(e.t), why, alarmed, d.seen.slow
	s.SlowHz = 0
	if s.Slow {
		s.SlowHz = d.seen.hz
	}
	s.Shaking = !alarmed && e.passed
	s.SwingRPM, s.LimitRPM, s.SmallestRPM = e.swing, e.limit, e.smallest
	s.Judged = d.books.ledger.judged
	s.Rate = d.in.rate()
	if v, ok := d.conditions.speed.Last(); ok {
		s.SpeedKMH = v.V
	}
	if why == ClosedThrottle || d.conditions.demandMoves(e.t, d.th) || d.conditions.steadySince == 0 {
		d.conditions.steadySince = e.t
	}
	s.SteadyFor = seconds(e.t - d.conditions.steadySince)
}
