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
	evidence       float64 // for a wave, natural units
	fresh          int     // readings of the swings that no evaluation before counted
	inStep         bool    // the driver's demand swings at the same frequency
	first, last    float64 // s, of the k swings
}

// eventBook joins evaluations over the limit into events.
type eventBook struct {
	events []Event
	open   bool
	endT   float64
	sum    conditionSums
	regN   int
	fitN   int
	readT  float64 // s, up to here readings are counted
	stepN  int     // evaluations in which the driver's demand swung in step
	hzSum  float64
	hzW    float64
}

// near reports whether the last event ended less than join seconds before t, or is still open.
func (b *eventBook) near(t, join float64) bool {
	return len(b.events) > 0 && t-b.endT < join
}

// conditionSums are sums over the evaluations of an event.
type conditionSums struct {
	n                              float64
	speed, load, throttle, coolant float64
	loadN, throttleN, coolantN     float64
}

// add opens an event or widens the open one.
func (b *eventBook) add(e *evaluation, r *conditions, th *thresholds, interval, spread float64) {
	if b.open && e.first-b.endT > th.join {
		b.open = false
	}
	if !b.open {
		b.open = true
		b.sum, b.regN, b.fitN, b.stepN, b.hzSum, b.hzW = conditionSums{}, 0, 0, 0, 0, 0
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
	b.average(v, r)
	v.CannotTell = cannotTell(v, b.fitN > 0, b.sum.throttleN > 0, 2*b.stepN > b.fitN, 1/interval)
}

// average sets the means of the operating conditions.
func (b *eventBook) average(v *Event, now *conditions) {
	s := &b.sum
	s.n++
	if x, ok := now.speed.last(); ok {
		s.speed += x.v
	}
	v.SpeedKMH = s.speed / s.n
	if now.hasLoad {
		s.load += now.load.v
		s.loadN++
	}
	if demand := now.demand(); demand != nil {
		x, _ := demand.last()
		s.throttle += x.v
		s.throttleN++
	}
	if now.hasCoolant {
		s.coolant += now.coolant.v
		s.coolantN++
	}
	v.LoadPct, v.ThrottlePct, v.CoolantC = s.load/s.loadN, s.throttle/s.throttleN, s.coolant/s.coolantN
}

// name sets whether the event is regular, and its frequencies.
func (b *eventBook) name(v *Event, interval, spread float64) {
	v.Regular = b.regN > 0
	if b.hzW == 0 {
		return
	}
	if hz := math.Round(10*b.hzSum/b.hzW) / 10; len(v.Hz) == 0 || v.Hz[0] != hz {
		v.Hz = aliases(hz, 1/interval, spread) // a new slice: readers may hold the old one
	}
}

// slowRate is the rate, readings a second, below which engine speed does not show whether it is
// shudder or a misfire that comes only under load.
const slowRate = 7

// cannotTell returns in words what else an event could be.
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

// trueSwing estimates the peak-to-peak of the swing, rpm, from the share of it that the
// window's readings show. At a low rate the k-th swing is too large, because the readings may
// happen to meet the peaks, and the fitted wave is too small: the geometric mean of both is
// taken (bench).
func (e *evaluation) trueSwing(th *thresholds) float64 {
	swing := e.swing / shownShare(e.readings)
	if e.readings < th.quietPerWin && e.fitted && e.wave > 0 {
		return math.Sqrt(swing * e.wave)
	}
	return swing
}
