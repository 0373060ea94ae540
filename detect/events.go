package detect

import (
	"math"
	"strings"
)

// eventBook joins evaluations over the limit into events.
type eventBook struct {
	events []Event
	open   bool
	endT   float64
	sum    conditionSums
	readT  float64 // s, up to here readings are counted
	stepN  int     // evaluations in which the driver's demand swung in step
	hzSum  float64
	hzW    float64
	doubt  doubt
	most   float64 // nats, most evidence that does not know the floor
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
func (b *eventBook) add(e *look, r *conditions, th *Tuning, interval, spread float64) {
	if b.open && e.first-b.endT > th.Join {
		b.open = false
	}
	if !b.open {
		b.open = true
		b.sum, b.stepN, b.hzSum, b.hzW, b.most = conditionSums{}, 0, 0, 0, 0
		b.events = append(b.events, Event{Start: seconds(e.first), LimitRPM: e.limit, FloorRPM: e.usual})
	}
	b.endT = max(b.endT, e.last)
	v := &b.events[len(b.events)-1]
	v.End = seconds(b.endT)
	v.Readings += e.fresh
	if swing := e.size; swing > v.SwingRPM {
		v.SwingRPM = swing
		v.LimitRPM, v.FloorRPM = e.limit, e.usual
	}
	b.most = max(b.most, e.fit.free)
	weight := max(0, e.fit.free)
	b.hzSum += e.fit.hz * weight
	b.hzW += weight
	if e.inStep {
		b.stepN++
	}
	b.name(v, interval, spread)
	b.average(v, r)
	if d := b.doubts(v, 1/interval); d != b.doubt || v.CannotTell == "" {
		b.doubt, v.CannotTell = d, d.words()
	}
}

// average sets the means of the operating conditions.
func (b *eventBook) average(v *Event, now *conditions) {
	s := &b.sum
	s.n++
	if x, ok := now.speed.Last(); ok {
		s.speed += x.V
	}
	v.SpeedKMH = s.speed / s.n
	if now.hasLoad {
		s.load += now.load.V
		s.loadN++
	}
	if demand := now.demand(); demand != nil {
		x, _ := demand.Last()
		s.throttle += x.V
		s.throttleN++
	}
	if now.hasCoolant {
		s.coolant += now.coolant.V
		s.coolantN++
	}
	v.LoadPct, v.ThrottlePct, v.CoolantC = s.load/s.loadN, s.throttle/s.throttleN, s.coolant/s.coolantN
}

// name sets whether the event is regular, and its frequencies.
func (b *eventBook) name(v *Event, interval, spread float64) {
	v.Regular = true // every look that alarms shows a wave
	if b.hzW == 0 {
		return
	}
	if hz := math.Round(10*b.hzSum/b.hzW) / 10; len(v.Hz) == 0 || v.Hz[0] != hz {
		v.Hz = aliases(hz, 1/interval, spread) // a new slice: readers may hold the old one
	}
}

// slowRate is the rate, readings a second, below which engine speed does not show whether it is
// shudder or a misfire that comes only under load. sureFrom is the evidence that does not know the
// floor, nats, from which a rough road or a misfire is no likely cause any more (chosen).
const (
	slowRate = 7
	sureFrom = 10
)

// doubt is something else that an event could be.
type doubt uint8

// The doubts, as bits.
const (
	doubtInStep doubt = 1 << iota
	doubtNoDemand
	doubtSlowLink
	doubtShort
	doubtCold
)

var doubtWords = [...]string{
	"the throttle swings in step with engine speed: a foot, a cruise control or a fuelling surge looks the same",
	"no throttle or pedal reading: a jerk after the pedal moved looks the same",
	"too few readings a second to tell it from a misfire that comes only under load, or from a surge",
	"a short swing: a rough patch of road or a misfire that comes only under load may look the same",
	"the engine was cold: it may run rough, and the converter clutch is mostly still open",
}

// doubts returns what else the open event could be.
func (b *eventBook) doubts(v *Event, rate float64) (d doubt) {
	if 2*b.stepN > int(b.sum.n) {
		d |= doubtInStep
	}
	if b.sum.throttleN == 0 {
		d |= doubtNoDemand
	}
	switch {
	case rate < slowRate:
		d |= doubtSlowLink
	case b.most < sureFrom:
		d |= doubtShort
	}
	if v.CoolantC < WarmFromC {
		d |= doubtCold
	}
	return d
}

// words says what else an event could be; "" where nothing else is open.
func (d doubt) words() string {
	var open []string
	for i, text := range doubtWords {
		if d&(1<<i) != 0 {
			open = append(open, text)
		}
	}
	return strings.Join(open, "; ")
}
