package detect

import (
	"math"

	"github.com/judder-obd/judder/detect/series"
)

// judgedSpan is how many seconds of readings decide whether there are enough.
const judgedSpan = 3

// leastReadings is how many readings judgedSpan must hold; enoughReadings is from how many on the
// absence of a swing means something.
const (
	leastReadings  = 8
	enoughReadings = 27
)

func newLook(t float64) look {
	nan := math.NaN()
	return look{t: t, margin: math.Inf(-1), usual: nan, rms: nan, limit: nan, smallest: nan, swing: nan}
}

// look looks at the windows that end at t.
func (d *Detector) look(t float64) {
	e := newLook(t)
	why := d.reasonAt(&e)
	e.readings = len(d.back(t, judgedSpan))
	d.measure(&e, why)
	if why == Judged && math.IsNaN(e.usual) && !e.passed {
		why = FloorNotLearnt
		if d.floor.n+d.floor.kept > 2*int(d.th.FloorLooks) {
			why = LoadNotLearnt
		}
	}
	d.conclude(&e, why)
}

// back returns the readings of the last span seconds, cut at the last step of the ratio (a
// window with a change of gear shows that change) and at the last move of the demand (the
// driveline rings after it).
func (d *Detector) back(t, span float64) []series.Reading {
	return d.in.rpm.Since(max(t-span, d.cut()))
}

// cut is the time before which no window begins.
func (d *Detector) cut() float64 { return max(d.rule.steppedT, d.rule.movedT) - d.th.Cut }

// reasonAt returns why this look must not be judged, or Judged, as far as it can be said without
// the floor.
func (d *Detector) reasonAt(e *look) Reason {
	th, t := d.th, e.t
	since := t - d.in.started
	rpm := median1s(d.in.rpm.Since(t-1), &d.work)
	d.conditions.countGears(t, rpm, th)
	stepped := d.conditions.ratioStepped(t, rpm, th)
	if stepped {
		d.rule.steppedT = t
	}
	if d.conditions.demandMoves(t, th) || d.conditions.closed(t, th) {
		d.rule.movedT = t
	}
	switch {
	case d.stopw.stopped:
		return EngineStopped
	case since < th.Settle && len(d.stopw.stops) > 0 && d.in.started == d.in.startedUp:
		return Starting
	case since < th.Settle:
		return Settling
	case len(d.in.rpm.Since(t-judgedSpan)) < leastReadings:
		return TooFewReadings
	}
	why := d.conditions.maskAt(t, th)
	if why == Judged && len(d.back(t, judgedSpan)) < leastReadings {
		return d.cutReason() // the window is cut, not the readings scarce
	}
	if why != Judged {
		return why
	}
	d.conditions.countTied(min(1, t-d.rule.lookT), stepped)
	if stepped {
		return RatioStepped
	}
	if d.conditions.notTied(th) {
		return NotTied
	}
	return Judged
}

// cutReason returns why the window is cut.
func (d *Detector) cutReason() Reason {
	if d.rule.steppedT >= d.rule.movedT {
		return RatioStepped
	}
	return ThrottleMoving
}

// median1s returns the median engine speed of a second.
func median1s(w []series.Reading, work *[maxWindow]series.Reading) float64 {
	n := 0
	for i := range min(len(w), maxWindow) {
		j := n
		for j > 0 && work[j-1].V > w[i].V {
			work[j] = work[j-1]
			j--
		}
		work[j] = w[i]
		n++
	}
	if n == 0 {
		return 0
	}
	return work[n/2].V
}

// measure learns the floor, and explains the windows of a look that may be judged.
func (d *Detector) measure(e *look, why Reason) {
	th := d.th
	load := d.conditions.pull(e.t, th)
	w := d.in.rpm.Since(e.t - max(th.FloorSpan, th.FloorReadings*d.in.interval))
	if len(w) >= 5 {
		e.rms = parabolaRMS(w)
	}
	defer d.learn(e, load, w, why == Judged)
	if why != Judged {
		return
	}
	e.colour = d.floor.colour(load, th)
	e.usual = d.floor.usual(load, e.colour, th)
	e.limit = max(th.LeastRPM, th.OverUsual*sineRatio*e.usual) // NaN while the floor is not known
	if d.conditions.demand() == nil {
		e.limit *= noDemandMore
	}
	e.smallest = smallestMore * max(e.limit, e.visible()) / shownShare(e.readings)
	d.explain(e)
}

// before returns the readings of some seconds before t; a slow link takes longer to give enough.
func (d *Detector) before(t float64) []series.Reading {
	w := d.in.rpm.Since(max(t-max(d.th.Before, beforeReadings*d.in.interval), d.cut()))
	n := 0
	for n < len(w) && w[n].T < t {
		n++
	}
	return w[:n]
}

// beforeReadings is how many usual intervals the time before a window has at least: a parabola and a wave
// that drifts have seven parameters (chosen).
const beforeReadings = 16

// noDemandMore is by how much the limit is larger where neither throttle nor pedal is read (chosen).
const noDemandMore = 1.5

// halfSeen is how many times the floor, as the peak to peak of a wave of that r.m.s., a burst is that is
// found half of the time (bench: at 5 to 20 readings a second).
const halfSeen = 2

// smallestMore is how much larger than the limit a swing must be to be found half of the time.
const smallestMore = 1.1

// tooSmall is taken off the margin of a window whose wave is below the limit, nats, so that a window
// whose wave is not comes first.
const tooSmall = 50

// explain explains each window that moves enough to hold a wave of the limit.
func (d *Detector) explain(e *look) {
	th := d.th
	rate := d.in.rate()
	best := math.Inf(-1)
	span, before := th.Shortest, 0
	for range windowsAt(rate) {
		w := d.back(e.t, span)
		if n := int(th.Least); len(w) < n {
			w = d.in.rpm.LastOf(n, d.cut())
		}
		span *= th.Longer
		if len(w) <= before || len(w) < int(th.Least) {
			continue
		}
		before = len(w)
		rms := parabolaRMS(w)
		if before >= e.readings*9/10 && math.IsNaN(e.swing) {
			e.swing = rms * sineRatio
		}
		if rms*sineRatio < th.LeastRPM {
			continue
		}
		d.fit.load(w, &d.noises[e.colour])
		f := d.fit.explain(th, e.usual, rate, d.before(w[0].T), &d.rest)
		m := f.margin(th)
		if f.showsItself(th) && (e.shown.wave.span == 0 || f.left < e.shown.wave.left) {
			e.shown = selfShown{w[0].T, f}
		}
		if !d.largeEnough(e, &f) {
			m -= tooSmall
		}
		if m > best {
			best, e.fit = m, f
		}
	}
	if e.fit.wave > 0 {
		e.swing = e.fit.wave
	}
	least := th.LookLeast
	if math.IsNaN(e.usual) {
		least = 0 // what other looks have to spare does not make up for a floor
	}
	e.margin = math.Inf(-1)
	if best >= least {
		if d.trace(e); e.last-e.first >= th.Lasts {
			e.margin = best
		}
	}
	e.passed = e.margin >= 0
	if e.passed && math.IsNaN(e.limit) {
		e.limit = aloneOver * th.LeastRPM
		e.smallest = smallestMore * e.limit / shownShare(e.readings)
	}
}

// Under a load that was never met a wave that the readings show by themselves counts all the same:
// with so much evidence of its own, and so many times the least wave (bench).
const (
	aloneFree = 12.0 // nats
	aloneOver = 1.5
)

// largeEnough reports whether a wave is larger than what this car does by itself under this load.
func (d *Detector) largeEnough(e *look, f *fitted) bool {
	if !math.IsNaN(e.limit) {
		return f.wave >= e.limit
	}
	return f.free >= aloneFree && f.wave >= aloneOver*d.th.LeastRPM
}

// learn gives the floor this look: what engine speed does, or what it leaves where the readings
// themselves show a wave. Else a car that shakes often would learn its shudder as its floor.
func (d *Detector) learn(e *look, load float64, w []series.Reading, steady bool) {
	if len(w) < 5 {
		return
	}
	if !d.learns(e.t, w) {
		d.rule.learnLess += min(1, e.t-d.rule.lookT) // the floor's clock stops
		return
	}
	var rms, likely [colours]float64
	for k := range colours {
		d.fit.load(w, &d.noises[k])
		rms[k], likely[k] = d.fit.rms(), d.fit.likelihood()
		if x := &e.shown.wave; x.span > 0 {
			d.fit.load(d.in.rpm.Since(e.shown.from), &d.noises[k])
			left, colour := d.fit.leftBy(x.hz, x.shape)
			rms[k], likely[k] = min(rms[k], left), colour
		}
	}
	d.floor.add(e.t-d.rule.learnLess, load, floorLag, rms, steady, likely)
}

// learns reports whether the last seconds show this car's own scatter under its load: the engine
// pulls, the ratio holds, and there is no alarm.
func (d *Detector) learns(t float64, w []series.Reading) bool {
	switch c := &d.conditions; {
	case d.stopw.stopped, t-d.in.started < d.th.FloorSpan, w[len(w)-1].T-w[0].T > 5:
		return false
	case t-d.rule.steppedT < d.th.FloorSpan, d.state.Alarmed, t-d.rule.alarmT < d.th.Join:
		return false
	case c.closed(t, d.th):
		return false
	default:
		v, ok := c.speed.Last()
		return ok && t-v.T <= d.th.Settle && v.V >= crawlSpeed
	}
}

// crawlSpeed: below it, km/h, the converter slips too much to say anything (chosen).
const crawlSpeed = 20

// floorLag is how long, s, a look waits before it counts: an alarm may show what it is.
const floorLag = 3

// parabolaRMS returns the r.m.s. of readings about their parabola, corrected for its three
// parameters.
func parabolaRMS(w []series.Reading) float64 {
	var n, s1, s2, s3, s4, v0, v1, v2, vv float64
	t0, ref := w[len(w)-1].T, w[len(w)-1].V
	scale := 1 / max(t0-w[0].T, 1e-9)
	for _, r := range w {
		t, v := (r.T-t0)*scale, r.V-ref
		t2 := t * t
		n++
		s1 += t
		s2 += t2
		s3 += t * t2
		s4 += t2 * t2
		v0 += v
		v1 += t * v
		v2 += t2 * v
		vv += v * v
	}
	if n < 4 {
		return 0
	}
	// Orthogonal polynomials by hand: 1, t − a, t² − b·(t − a) − c.
	a := s1 / n
	p1 := s2 - n*a*a
	x1 := v1 - a*v0
	rest := vv - v0*v0/n
	if p1 > 1e-12 {
		rest -= x1 * x1 / p1
		b := (s3 - a*s2) / p1
		c := s2 / n
		// ⟨q,q⟩ and ⟨q,v⟩ of q = t² − c − b·(t − a)
		p2 := s4 - n*c*c - b*b*p1
		x2 := v2 - c*v0 - b*x1
		if p2 > 1e-12 {
			rest -= x2 * x2 / p2
		}
	}
	return math.Sqrt(max(0, rest) / (n - 3))
}
