package detect

import (
	"math"
)

// evaluate looks at the window that ends at t.
func (d *Detector) evaluate(t float64) {
	e := evaluation{t: t, swing: math.NaN(), limit: math.NaN(), smallest: math.NaN(), floor: math.NaN()}
	w := d.back(t, d.th.window)
	if len(w) > maxWindow {
		w = w[len(w)-maxWindow:]
	}
	e.readings = len(w)
	why := d.reasonAt(t, &e, w)
	if why == Judged {
		d.measure(&e, w)
	}
	d.conclude(&e, why)
}

// back returns the readings of the last span seconds, but none from before the last step of
// the ratio: a window that holds a change of gear shows the change. Nor from before
// the drive line has stopped ringing from the last move of the throttle.
func (d *Detector) back(t, span float64) []reading {
	return d.rpm.since(max(t-span, d.steppedT-d.th.stepCut, d.movedT-d.th.moveCut))
}

// reasonAt returns why this window must not be judged, or Judged. The floor is looked up on
// the way.
func (d *Detector) reasonAt(t float64, e *evaluation, w []reading) Reason {
	th := d.th
	since := t - d.started
	stepped := d.road.ratioStepped(t, median1s(w, t, &d.work), th)
	if stepped {
		d.steppedT = t
	}
	switch {
	case d.stopw.stopped:
		return EngineStopped
	case since < th.settle && len(d.stopw.stops) > 0 && d.started == d.startedUp:
		return Starting
	case since < th.settle:
		return Settling
	case len(d.rpm.since(t-th.window)) < th.minReadings:
		return TooFewReadings
	}
	why := d.road.maskAt(t, th)
	if why == ThrottleMoving || why == ClosedThrottle {
		d.movedT = t
	}
	if why == Judged && len(w) < th.minReadings {
		return d.cutReason() // the window is cut, not the readings scarce
	}
	if why == Judged {
		d.road.countTied(min(1, t-d.evalT), stepped)
		if stepped {
			why = RatioStepped
		} else if d.road.notTied(th) {
			why = NotTied
		}
	}
	if why != Judged {
		return why
	}
	e.floor = d.floors.scatter(th)
	if math.IsNaN(e.floor) {
		return FloorNotLearnt
	}
	if d.limit(e.floor) > th.swingMost {
		return Drowned
	}
	return Judged
}

// cutReason says why the window begins later than it might.
func (d *Detector) cutReason() Reason {
	if d.steppedT-d.th.stepCut >= d.movedT-d.th.moveCut {
		return RatioStepped
	}
	return ThrottleMoving
}

// median1s returns the median engine speed of the last second.
func median1s(w []reading, t float64, work *[maxWindow]reading) float64 {
	n := 0
	for i := len(w) - 1; i >= 0 && w[i].t > t-1; i-- {
		j := n
		for j > 0 && work[j-1].v > w[i].v {
			work[j] = work[j-1]
			j--
		}
		work[j] = w[i]
		n++
	}
	if n == 0 {
		return 0
	}
	return work[n/2].v
}

// measure fills in swing, limit and regularity.
func (d *Detector) measure(e *evaluation, w []reading) {
	th := d.th
	r := detrend(d.work[:], w, fitLine(w))
	e.swing = kthSwing(r, int(th.swingRank))
	e.limit = d.limit(e.floor)
	e.smallest = th.smallestMore * e.limit / shownShare(len(w))
	e.first, e.last = edges(r, e.swing)
	short := d.back(e.t, max(th.shortSpan, th.shortLeast*d.interval))
	r = detrend(d.work[:], short, fitLine(short))
	if swing := kthSwing(r, int(th.swingRankFew)); swing > e.swing {
		e.swing = swing
		e.first, e.last = edges(r, swing)
	}
	e.over = e.swing > e.limit
	if e.swing < e.limit*th.fitFrom {
		d.proof.add(e.t, 0)
		return
	}
	d.weigh(e, r)
}

// weigh fits waves to the short window, given without its line, and to the long one.
func (d *Detector) weigh(e *evaluation, short []reading) {
	th := d.th
	e.fitted = true
	d.fit.askedHz = 1 / d.interval
	d.fit.load(short)
	before := d.proof.at(e.t - (short[len(short)-1].t - short[0].t))
	now := d.fit.weigh(th, e.floor)
	e.take(now, now.evidence+th.carry*before)
	d.proof.add(e.t, e.proof)
	if w := d.back(e.t, max(th.briefSpan, th.briefLeast*d.interval)); len(w) < len(short) {
		d.fit.load(detrend(d.work[:], w, fitLine(w)))
		if brief := d.fit.weigh(th, e.floor); brief.evidence > e.proof {
			e.take(brief, brief.evidence)
		}
	}
	w := d.back(e.t, clampTo(th.longLeast*d.interval, th.window, th.longMost))
	d.fit.load(detrend(d.work[:], w, fitLine(w)))
	d.fit.allow(drifting)
	long := d.fit.weigh(th, e.floor)
	e.slow, e.rest, e.restPart = long.slow, long.rest, long.restPart
	if long.evidence > e.proof {
		e.take(long, long.evidence)
	}
	if e.proof <= d.needed(e) {
		d.fit.allow(harmonic)
		if saw := d.fit.weigh(th, e.floor); saw.evidence > e.proof {
			e.take(saw, saw.evidence)
		}
	}
	if e.hz < 0.5/d.interval { // faster, it may be the alias of a slow one
		e.limit *= averaged(e.hz, th.averaging)
	}
	e.over = e.swing > e.limit && max(e.swing, e.wave) < th.swingMost && e.last-e.first >= th.swingsLast
	e.regular = e.proof > d.needed(e)
}

// take lets a window's wave stand for the evaluation.
func (e *evaluation) take(w weighing, proof float64) {
	e.proof, e.hz, e.share, e.wave, e.left = proof, w.best.hz, w.best.share, w.swing, w.left
}

// needed returns the evidence wanted for this wave, natural units: less for a large one,
// but not for one so slow that a change of gear or of lock-up is large too; more under load,
// and for one that leaves more than the car's own scatter and the corners of a saw.
func (d *Detector) needed(e *evaluation) float64 {
	th := d.th
	need := th.evidence
	if d.laden() {
		need = th.evidenceLaden
	}
	if e.wave > 0 {
		most := th.sizeMost
		if d.fit.slowest(e.hz) < th.sizeFrom {
			most = 0
		}
		need -= th.sizeWorth * clampTo(math.Log(e.wave/e.limit), -1, most)
	}
	if usual := math.Hypot(th.leftUsual*e.floor, th.leftShape*e.wave); e.left > usual {
		need += th.leftPrice * math.Log(e.left/usual)
	}
	return need
}

// averaged is the share of a swing that is left when the engine computer averages engine
// speed over a span: |sin(π·f·span)/(π·f·span)|.
func averaged(hz, span float64) float64 {
	x := math.Pi * hz * span
	if x < 1e-6 {
		return 1
	}
	return math.Abs(math.Sin(x) / x)
}

func clampTo(x, low, high float64) float64 { return max(low, min(high, x)) }

// proofs keeps the evidence of the short windows of the last seconds.
type proofs struct {
	of   [64]reading
	next int
}

func (p *proofs) add(t, e float64) {
	p.of[p.next] = reading{t, max(0, e)}
	p.next = (p.next + 1) % len(p.of)
}

// at returns the evidence that stood at t: that of the evaluation nearest before it, 0 when
// none was within half a second.
func (p *proofs) at(t float64) float64 {
	for i := range p.of {
		x := p.of[(p.next-1-i+2*len(p.of))%len(p.of)]
		if x.t <= t {
			if t-x.t > 0.5 {
				return 0
			}
			return x.v
		}
	}
	return 0
}

// limit returns the swing that must be passed, rpm peak to peak.
func (d *Detector) limit(floor float64) float64 {
	th := d.th
	l := max(th.limitLeast, th.limitScatter*floor)
	if u := d.floors.usual.median(th.usualMin); u*th.limitUsual > l {
		l = u * th.limitUsual
	}
	if foot, _ := d.road.foot(); foot == nil {
		l *= th.noThrottleMore
	}
	return l
}

// conclude decides about the alarm and keeps the books.
func (d *Detector) conclude(e *evaluation, why Reason) {
	th := d.th
	dt := 0.0
	if !math.IsInf(d.evalT, -1) {
		dt = e.t - d.evalT
	}
	alarmed := d.decide(e)
	if alarmed {
		d.alarmT = e.t
		if !d.state.Alarmed {
			d.floors.forget()
		}
		e.inStep = d.footInStep(e)
		e.fresh = d.countFresh(e)
		d.book.add(e, &d.road, th, d.interval, d.spread)
	}
	if why == Judged && e.swing <= max(th.limitLeast, th.limitScatter*e.floor) {
		// Never what passes the limit that holds without it: it would hide itself.
		d.floors.usual.add(e.t, e.swing)
		if now, _, ok := d.road.pull(th); ok {
			d.floors.load.add(e.t, now)
		}
	}
	d.observe(e, why)
	d.account(e, why, dt)
	d.latest, d.reason, d.evalT = *e, why, e.t
	d.setState(e, why, alarmed)
}

// decide says whether the alarm stands after this evaluation.
func (d *Detector) decide(e *evaluation) bool {
	th := d.th
	d.running, d.scattering, d.rocking = d.running+1, d.scattering+1, d.rocking+1
	if e.proof < th.evidenceHold || e.swing < th.limitHold*e.limit || e.swing > th.swingMost {
		d.running, d.passed = 0, false
	}
	d.passed = d.passed || e.regular && e.over
	if !e.over || e.regular {
		d.scattering = 0
	}
	few := 1/d.interval < th.rockRate
	if !e.over || !few || e.rest < th.rockRest*e.limit/sineRatio || e.restPart < th.rockPart || e.swing < th.rockLimit*e.limit || d.laden() {
		d.rocking = 0
	}
	atOnce := e.regular && e.over && e.proof > th.atOnce && e.swing > th.atOnceLimit*e.limit
	return d.passed && d.running >= int(th.confirm) || atOnce || d.rocking >= int(th.rockConfirm)
}

// sineRatio is the peak-to-peak of a sine over its r.m.s.
const sineRatio = 2 * math.Sqrt2

// laden says whether the engine pulls harder than it usually does in a quiet cruise, so
// that a misfire that comes only under load cannot be ruled out; also when it is not known.
func (d *Detector) laden() bool {
	now, over, ok := d.road.pull(d.th)
	return !ok || !(now <= d.floors.load.median(d.th.usualMin)+over)
}

// countFresh counts the readings of this event that were not counted yet.
func (d *Detector) countFresh(e *evaluation) (n int) {
	from := max(d.book.readT, e.first)
	for _, r := range d.rpm.since(from) {
		if r.t > d.book.readT && r.t <= e.last {
			n++
		}
	}
	d.book.readT = max(d.book.readT, e.last)
	return n
}

// footInStep says whether throttle or pedal swing at the frequency of engine speed, within the
// range that counts as steady.
func (d *Detector) footInStep(e *evaluation) bool {
	foot, _ := d.road.foot()
	if foot == nil || e.hz == 0 {
		return false
	}
	w := foot.since(e.t - d.th.window)
	if len(w) < d.th.minReadings || len(w) > maxWindow {
		return false
	}
	d.fit.load(detrend(d.work[:], w, fitLine(w)))
	wave := d.fit.best(e.hz, e.hz)
	return wave.share >= d.th.footShare && d.fit.swing(wave) >= d.th.footSwing
}

// account adds dt seconds to the sums the verdict needs.
func (d *Detector) account(e *evaluation, why Reason, dt float64) {
	d.spend(e.t, why, e)
	if why == TooFewReadings {
		d.slowSeconds += dt
	} else {
		d.otherSeconds += dt
	}
	if why == Judged && e.readings >= d.th.quietPerWin {
		if e.t-d.quietT > d.th.settle { // shorter, it is the same cruise with a hole in it
			d.quietStretches++
		}
		d.quietT = e.t
	}
}

// spend says what the time up to t was: a reason, and with what evidence where it was judged.
func (d *Detector) spend(t float64, why Reason, e *evaluation) {
	before := d.ledger.judged
	d.ledger.add(seconds(t), why, e.smallest)
	span := d.ledger.judged - before
	if span == 0 {
		return
	}
	if v, ok := d.road.speed.last(); ok {
		d.cover.add(v.v, span.Seconds(), e.smallest)
	}
	if e.readings >= d.th.quietPerWin {
		d.quietJudged += span
	}
}

func (d *Detector) setState(e *evaluation, why Reason, alarmed bool) {
	s := &d.state
	s.At, s.Reason, s.Alarmed, s.Slow = seconds(e.t), why, alarmed, d.seen.slow
	s.SwingRPM, s.LimitRPM, s.SmallestRPM = e.swing, e.limit, e.smallest
	s.Judged = d.ledger.judged
	s.Rate = d.usualRate()
	if v, ok := d.road.speed.last(); ok {
		s.SpeedKMH = v.v
	}
	if why == ClosedThrottle || d.road.footMoves(e.t, d.th) || d.road.steadySince == 0 {
		d.road.steadySince = e.t
	}
	s.SteadyFor = seconds(e.t - d.road.steadySince)
}
