package steps

import "math"

// liftWatch looks for a steady throttle that is closed.
type liftWatch struct {
	closedT float64 // s, demand is at rest since; +Inf when it is open
	seen    bool    // this closing was weighed
}

func (l *liftWatch) reset() { *l = liftWatch{closedT: math.Inf(1)} }

// A throttle lift.
const (
	liftAfter = 1.5 // s that demand stays at rest
	liftMove  = 1.0 // s within which it falls
	liftOver  = 1.5 // s that it was steady before
	liftLeast = 4.0 // % that it was open
	liftReads = 3   // readings of demand before
	liftKMH   = 30.
)

func (w *Watch) lookLift(t float64) {
	l := &w.lift
	demand := w.in.demand()
	if demand == nil || !demand.closed() {
		l.reset()
		return
	}
	last, _ := demand.Last()
	if math.IsInf(l.closedT, 1) {
		l.closedT = last.T
	}
	if l.seen || t-l.closedT < liftAfter {
		return
	}
	l.seen = true
	from, to := l.closedT-liftMove-liftOver, l.closedT-liftMove
	before := between(&demand.Track, from, to)
	open, n := mean(before)
	v := w.in.speedAt(l.closedT)
	if n < liftReads || open < demand.low+liftLeast || spread(&demand.Track, from, to) > steadyDemand || !(v >= liftKMH) {
		return
	}
	start := l.closedT
	for _, x := range between(&demand.Track, to, l.closedT) {
		if x.V < open-steadyDemand {
			break
		}
		start = x.T
	}
	p := pending{start: start, end: l.closedT, after: l.closedT + settleOver, until: l.closedT + afterOver, due: l.closedT + afterOver}
	p.Kind, p.SpeedKMH = ThrottleLift, v
	p.RPMStep = w.in.meanRPM(l.closedT+0.5, l.closedT+liftAfter) - w.in.meanRPM(start-1, start)
	w.open = append(w.open, p)
}
