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

// back returns the readings of the last span seconds, cut at the last step of the ratio (a
// window with a change of gear shows that change) and at the last move of the throttle (the
// driveline rings after it).
func (d *Detector) back(t, span float64) []reading {
	return d.rpm.since(max(t-span, d.steppedT-d.th.stepCut, d.movedT-d.th.moveCut))
}

// reasonAt returns why this window must not be judged, or Judged. It sets the floor of e.
func (d *Detector) reasonAt(t float64, e *evaluation, w []reading) Reason {
	th := d.th
	since := t - d.started
	stepped := d.conditions.ratioStepped(t, median1s(w, t, &d.work), th)
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
	why := d.conditions.maskAt(t, th)
	if why == ThrottleMoving || why == ClosedThrottle {
		d.movedT = t
	}
	if why == Judged && len(w) < th.minReadings {
		return d.cutReason() // the window is cut, not the readings scarce
	}
	if why == Judged {
		d.conditions.countTied(min(1, t-d.evalT), stepped)
		if stepped {
			why = RatioStepped
		} else if d.conditions.notTied(th) {
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
		return ScatterTooLarge
	}
	return Judged
}

// cutReason returns why the window is cut.
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
		d.evidence.add(e.t, 0)
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
	before := d.evidence.at(e.t - (short[len(short)-1].t - short[0].t))
	now := d.fit.weigh(th, e.floor)
	e.take(now, now.evidence+th.carry*before)
	d.evidence.add(e.t, e.evidence)
	if w := d.back(e.t, max(th.briefSpan, th.briefLeast*d.interval)); len(w) < len(short) {
		d.fit.load(detrend(d.work[:], w, fitLine(w)))
		if brief := d.fit.weigh(th, e.floor); brief.evidence > e.evidence {
			e.take(brief, brief.evidence)
		}
	}
	w := d.back(e.t, clampTo(th.longLeast*d.interval, th.window, th.longMost))
	d.fit.load(detrend(d.work[:], w, fitLine(w)))
	d.fit.allow(drifting)
	long := d.fit.weigh(th, e.floor)
	e.slow, e.rest, e.restPart = long.slow, long.rest, long.restPart
	if long.evidence > e.evidence {
		e.take(long, long.evidence)
	}
	if e.evidence <= d.needed(e) {
		d.fit.allow(harmonic)
		if saw := d.fit.weigh(th, e.floor); saw.evidence > e.evidence {
			e.take(saw, saw.evidence)
		}
	}
	if e.hz < 0.5/d.interval { // faster, it may be the alias of a slow one
		e.limit *= averaged(e.hz, th.averaging)
	}
	e.over = e.swing > e.limit && max(e.swing, e.wave) < th.swingMost && e.last-e.first >= th.swingsLast
	e.regular = e.evidence > d.needed(e)
}

// take makes a window's wave that of the evaluation.
func (e *evaluation) take(w weighing, evidence float64) {
	e.evidence, e.hz, e.share, e.wave, e.left = evidence, w.best.hz, w.best.share, w.swing, w.left
}

// needed returns the evidence that this wave needs, natural units. A large wave needs less,
// unless it is so slow that a change of gear or of lock-up is as large. A wave under load needs
// more, and so does one that leaves more than the car's own scatter and the corners of a saw.
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

// averaged is the share of a swing that is left when the ECU averages engine
// speed over a span: |sin(π·f·span)/(π·f·span)|.
func averaged(hz, span float64) float64 {
	x := math.Pi * hz * span
	if x < 1e-6 {
		return 1
	}
	return math.Abs(math.Sin(x) / x)
}

func clampTo(x, low, high float64) float64 { return max(low, min(high, x)) }

// evidenceLog keeps the evidence of the short windows of the last seconds.
type evidenceLog struct {
	of   [64]reading
	next int
}

func (p *evidenceLog) add(t, e float64) {
	p.of[p.next] = reading{t, max(0, e)}
	p.next = (p.next + 1) % len(p.of)
}

// at returns the evidence at t: that of the latest evaluation at or before t, 0 when it is more
// than half a second older.
func (p *evidenceLog) at(t float64) float64 {
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

// limit returns the swing that must be exceeded, rpm peak to peak.
func (d *Detector) limit(floor float64) float64 {
	th := d.th
	l := max(th.limitLeast, th.limitScatter*floor)
	if u := d.floors.usual.median(th.usualMin); u*th.limitUsual > l {
		l = u * th.limitUsual
	}
	if demand := d.conditions.demand(); demand == nil {
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
		e.inStep = d.demandInStep(e)
		e.fresh = d.countFresh(e)
		d.book.add(e, &d.conditions, th, d.interval, d.spread)
	}
	if why == Judged && e.swing <= max(th.limitLeast, th.limitScatter*e.floor) {
		// Not a swing above the limit that the first two terms make: it would hide itself.
		d.floors.usual.add(e.t, e.swing)
		if now, _, ok := d.conditions.pull(th); ok {
			d.floors.load.add(e.t, now)
		}
	}
	d.observe(e, why)
	d.account(e, why, dt)
	d.latest, d.reason, d.evalT = *e, why, e.t
	d.setState(e, why, alarmed)
}

// decide reports whether there is an alarm after this evaluation.
func (d *Detector) decide(e *evaluation) bool {
	th := d.th
	d.running, d.scattering, d.lowRate = d.running+1, d.scattering+1, d.lowRate+1
	if e.evidence < th.evidenceHold || e.swing < th.limitHold*e.limit || e.swing > th.swingMost {
		d.running, d.passed = 0, false
	}
	d.passed = d.passed || e.regular && e.over
	if !e.over || e.regular {
		d.scattering = 0
	}
	few := 1/d.interval < th.lowRateBelow
	if !e.over || !few || e.rest < th.lowRateRest*e.limit/sineRatio || e.restPart < th.lowRatePart || e.swing < th.lowRateLimit*e.limit || d.laden() {
		d.lowRate = 0
	}
	atOnce := e.regular && e.over && e.evidence > th.atOnce && e.swing > th.atOnceLimit*e.limit
	return d.passed && d.running >= int(th.confirm) || atOnce || d.lowRate >= int(th.lowRateConfirm)
}

// sineRatio is the peak-to-peak of a sine over its r.m.s.
const sineRatio = 2 * math.Sqrt2

// laden reports whether the engine pulls harder than usual in a quiet cruise, or may do so: a
// misfire that comes only under load is then possible.
func (d *Detector) laden() bool {
	now, over, ok := d.conditions.pull(d.th)
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

// demandInStep reports whether the driver's demand swings at the frequency of engine speed,
// within the range that counts as steady.
func (d *Detector) demandInStep(e *evaluation) bool {
	demand := d.conditions.demand()
	if demand == nil || e.hz == 0 {
		return false
	}
	w := demand.since(e.t - d.th.window)
	if len(w) < d.th.minReadings || len(w) > maxWindow {
		return false
	}
	d.fit.load(detrend(d.work[:], w, fitLine(w)))
	wave := d.fit.best(e.hz, e.hz)
	return wave.share >= d.th.demandShare && d.fit.swing(wave) >= d.th.demandSwing
}

// account adds dt seconds to the sums for the verdict.
func (d *Detector) account(e *evaluation, why Reason, dt float64) {
	d.spend(e.t, why, e)
	if why == TooFewReadings {
		d.slowSeconds += dt
	} else {
		d.otherSeconds += dt
	}
	if why == Judged && e.readings >= d.th.quietPerWin {
		if e.t-d.quietT > d.th.settle { // else it is the same cruise with a hole in it
			d.quietStretches++
		}
		d.quietT = e.t
	}
}

// spend books the time up to t under a reason and, where it was judged, by what could be seen.
func (d *Detector) spend(t float64, why Reason, e *evaluation) {
	before := d.ledger.judged
	d.ledger.add(seconds(t), why, e.smallest)
	span := d.ledger.judged - before
	if span == 0 {
		return
	}
	if v, ok := d.conditions.speed.last(); ok {
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
	if v, ok := d.conditions.speed.last(); ok {
		s.SpeedKMH = v.v
	}
	if why == ClosedThrottle || d.conditions.demandMoves(e.t, d.th) || d.conditions.steadySince == 0 {
		d.conditions.steadySince = e.t
	}
	s.SteadyFor = seconds(e.t - d.conditions.steadySince)
}
