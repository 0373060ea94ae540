package steps

import "math"

// pending is a step that waits until it is known what engine speed did after it.
type pending struct {
	Step
	start, end  float64 // s
	after       float64 // s, from here on the swing after it is measured
	until       float64 // s, and up to here at most
	due         float64 // s
	pre, rise   float64 // rpm, of a change of level
	demandMoved float64 // %
	cut         bool    // the readings ended before it was due
}

// settle weighs a step and keeps it.
func (w *Watch) settle(p *pending) {
	last, _ := w.in.rpm.Last()
	p.until = min(p.until, last.T)
	if p.rise > 0 {
		p.until = w.released(p)
	}
	p.BeforeRPM, p.NoWave = w.before(p.start)
	p.AfterRPM = swing(between(&w.in.rpm, p.after, min(p.after+swingOver, p.until)))
	p.NoWave = p.NoWave || w.ordinary(p)
	if p.level() && (p.onset() || p.drowned() || !p.cut && p.until-p.end < levelHolds || !w.name(p)) {
		return
	}
	p.Start, p.End = at(p.start), at(p.end)
	p.Gear = w.in.gearAt(p.start - gearLead)
	p.calm(w.stopped(p))
	p.Fault = w.fault(p)
	w.keep(p.Step)
}

// stillShare is the share of the swing before that is left where a step stopped it (chosen).
const stillShare = 0.6

// calm notes that the swing had fallen to half at a time, where it stayed down.
func (p *pending) calm(t float64) {
	if p.Shook() && p.AfterRPM <= stillShare*p.BeforeRPM {
		p.Stopped = at(t - p.start)
	}
}

// swingBefore is the swing of the readings that end at t; NaN where demand moved meanwhile.
func (in *inputs) swingBefore(t float64) float64 {
	if demand := in.demand(); demand != nil && spread(&demand.Track, t-swingOver, t) > steadyDemand {
		return nan()
	}
	long, brief := between(&in.rpm, t-swingOver, t), between(&in.rpm, t-briefOver, t)
	if len(brief) < briefLeast {
		return swing(long)
	}
	return max(swing(long), swing(brief)) // a driver may be quick: it shook for less than the whole
}

// onset reports whether a change of level is the beginning of a shudder: its mean lies higher, since
// a clutch that grabs and lets go slips more, but engine speed swings about it by as much.
func (p *pending) onset() bool {
	return p.AfterRPM >= onsetShare*p.rise && !(p.AfterRPM <= onsetMore*p.BeforeRPM)
}

// drowned reports whether a change of level is smaller than the swing about it, which went on: then it may
// be no more than a part of that swing.
func (p *pending) drowned() bool {
	return p.Shook() && p.rise < p.BeforeRPM && !(p.AfterRPM <= stillShare*p.BeforeRPM)
}

// level reports whether the step is a change of the level of engine speed.
func (p *pending) level() bool { return p.Kind == ClutchRelease || p.Kind == LowerGear }

// released is until when engine speed kept its new level: the clutch is applied again soon after the
// foot has left the brake.
func (w *Watch) released(p *pending) float64 {
	const over, share = 0.6, 0.4
	for _, x := range between(&w.in.rpm, p.after+over, p.until) {
		if m, _ := mean(between(&w.in.rpm, x.T-over, x.T)); m < p.pre+share*p.rise {
			return x.T - over
		}
	}
	return p.until
}

// stopped is when the swing had fallen to half of what it was; the start where it did not.
func (w *Watch) stopped(p *pending) float64 {
	for _, x := range between(&w.in.rpm, p.end, p.until-briefOver) {
		if s := swing(between(&w.in.rpm, x.T, x.T+briefOver)); s <= p.BeforeRPM/2 {
			return max(x.T, p.start+lookEvery)
		}
	}
	return p.start
}

// Limits of a valid step.
const (
	steadyDemand = 3. // % (the trade's brake tap keeps the throttle)
	steadySpeed  = 5. // km/h
)

// fault is why a step does not count.
func (w *Watch) fault(p *pending) Fault {
	byFeel := p.Kind == NeutralCoast || p.Kind == ParkSweep // what is felt counts; a swing before is no part of them
	demand := w.in.demand()
	held := min(p.until, p.after+levelHolds)
	switch {
	case p.cut:
		return NotSeenToEnd
	case math.IsNaN(p.AfterRPM) || !byFeel && len(between(&w.in.rpm, p.start-swingOver, p.start)) < swingLeast && math.IsNaN(p.BeforeRPM):
		return FewReadings
	case !byFeel && math.IsNaN(p.BeforeRPM):
		return ThrottleMoved
	case p.Kind == ClutchRelease && demand != nil && spread(&demand.Track, p.start-0.5, held) > steadyDemand:
		return ThrottleMoved
	case p.level() && spread(&w.in.speed, p.start-0.5, held) > steadySpeed:
		return SpeedMoved
	case !byFeel && !p.Shook():
		return NothingShook
	}
	return Valid
}

// gearAt is the gear reported last before a time; 0 where it is not known.
func (in *inputs) gearAt(t float64) int {
	r := between(&in.gear, t-gapAfter, t)
	if len(r) == 0 {
		return 0
	}
	return int(r[len(r)-1].V)
}
