package detect

import "math"

// evaluation is one look at the window.
type evaluation struct {
	t              float64
	readings       int
	swing          float64 // k-th largest, rpm
	limit          float64
	floor          float64
	smallest       float64
	over           bool
	regular        bool
	fitted         bool
	slow           bool
	hz             float64
	share          float64
	wave, left     float64 // rpm peak to peak of the wave, and r.m.s. that it leaves
	rest, restPart float64 // rpm r.m.s. that slow wave and steps leave, and its part of the whole
	proof          float64 // evidence for a wave
	fresh          int     // readings of the swings that no evaluation before counted
	inStep         bool    // the foot swings at the same frequency
	first, last    float64 // s, of the k swings
}

// eventBook joins evaluations over the limit into events.
type eventBook struct {
	events []Event
	open   bool
	endT   float64
	sum    conditions
	regN   int
	fitN   int
	readT  float64 // s, up to here readings are counted
	stepN  int     // evaluations in which the foot swung in step
	hzSum  float64
	hzW    float64
}

// near says whether an event ended less than join seconds before t, or still stands.
func (b *eventBook) near(t, join float64) bool {
	return len(b.events) > 0 && t-b.endT < join
}

// conditions are sums over the evaluations of an event.
type conditions struct {
	n                              float64
	speed, load, throttle, coolant float64
	loadN, throttleN, coolantN     float64
}

// add opens an event or widens the open one.
func (b *eventBook) add(e *evaluation, r *road, th *thresholds, interval, spread float64) {
	if b.open && e.first-b.endT > th.join {
		b.open = false
	}
	if !b.open {
		b.open = true
		b.sum, b.regN, b.fitN, b.stepN, b.hzSum, b.hzW = conditions{}, 0, 0, 0, 0, 0
		b.events = append(b.events, Event{Start: seconds(e.first), LimitRPM: e.limit, FloorRPM: e.floor})
	}
	b.endT = max(b.endT, e.last)
	v := &b.events[len(b.events)-1]
	v.End = seconds(b.endT)
	v.Readings += e.fresh
	if swing := e.trueSwing(th); swing > v.SwingRPM {
		v.SwingRPM = swing
		v.LimitRPM, v.FloorRPM = e.limit, e.floor
	}
	if e.fitted {
		b.fitN++
		if e.regular {
			b.regN++
			b.hzSum += e.hz * e.share
			b.hzW += e.share
		}
	}
	if e.inStep {
		b.stepN++
	}
	b.name(v, interval, spread)
	b.conditions(v, r)
	v.CannotTell = cannotTell(v, b.fitN > 0, b.sum.throttleN > 0, 2*b.stepN > b.fitN, 1/interval)
}

// conditions averages what else was read.
func (b *eventBook) conditions(v *Event, r *road) {
	c := &b.sum
	c.n++
	if x, ok := r.speed.last(); ok {
		c.speed += x.v
	}
	v.SpeedKMH = c.speed / c.n
	if r.hasLoad {
		c.load += r.load.v
		c.loadN++
	}
	if foot, _ := r.foot(); foot != nil {
		x, _ := foot.last()
		c.throttle += x.v
		c.throttleN++
	}
	if r.hasCoolant {
		c.coolant += r.coolant.v
		c.coolantN++
	}
	v.LoadPct, v.ThrottlePct, v.CoolantC = c.load/c.loadN, c.throttle/c.throttleN, c.coolant/c.coolantN
}

// name says how regular the event is and at what frequency.
func (b *eventBook) name(v *Event, interval, spread float64) {
	v.Regular = b.regN > 0
	if b.hzW == 0 {
		return
	}
	if hz := math.Round(10*b.hzSum/b.hzW) / 10; len(v.Hz) == 0 || v.Hz[0] != hz {
		v.Hz = aliases(hz, 1/interval, spread) // a new slice: readers may hold the old one
	}
}

// slowRate is the rate, readings a second, below which a misfire that comes only under load
// cannot be told from shudder by engine speed.
const slowRate = 7

// cannotTell says in words what an event cannot be told from.
func cannotTell(v *Event, fitted, throttle, inStep bool, rate float64) string {
	text := ""
	switch {
	case !v.Regular || !fitted:
		text = "irregular: misfire under load, or a swing faster than these readings can show"
	case rate < slowRate:
		text = "too few readings a second to tell it from a misfire that comes only under load, or from a surge"
	default:
		text = "a rough patch of road that begins inside a smooth cruise"
	}
	if inStep {
		return "the throttle swings in step with engine speed: a foot, a cruise control or a fuelling surge looks the same; " + text
	}
	if !throttle {
		return "no throttle or pedal reading: a jerk after the pedal moved looks the same; " + text
	}
	return text
}

// trueSwing estimates the peak-to-peak of the swing, rpm, by the share of it that the
// window's readings show. The few readings of a low rate show too much when they happen to
// meet the peaks, and a wave through them shows too little: the truth lies between (bench).
func (e *evaluation) trueSwing(th *thresholds) float64 {
	swing := e.swing / shownShare(e.readings)
	if e.readings < th.quietPerWin && e.fitted && e.wave > 0 {
		return math.Sqrt(swing * e.wave)
	}
	return swing
}
