package bench

import "math"

// throughout is rough running over the whole drive, as far as its conditions hold.
func (w *world) throughout(kind Kind) {
	share, name := w.between(0.15, 1), "misfire"
	weight := func(i int) float64 { return 0.4 + w.load[i]/80 }
	switch kind {
	case PartMisfire:
		low := w.between(24, 30)
		weight = func(i int) float64 { return clamp(min(w.load[i]-low, low+14-w.load[i])/4, 0, 1) }
	case ColdMisfire:
		weight = w.coldness
	case HillMisfire:
		from := w.between(38, 48)
		weight = func(i int) float64 { return clamp((w.load[i]-from)/8, 0, 1) }
	case TrainMisfire:
		from := w.between(30, 40)
		off, until := false, 0
		share = 1
		weight = func(i int) float64 {
			if i >= until {
				off = !off
				until = i + int(w.between(0.15, 0.5)*stepHz)
				if off {
					until = i + int(w.between(0.15, 1)*stepHz)
				}
			}
			if off {
				return 0
			}
			return clamp((w.load[i]-from)/8, 0, 1)
		}
	case Cold:
		share, name = 0.35*share, "cold rough"
		weight = func(i int) float64 { return 0.6 * w.coldness(i) }
	}
	w.misfire(0, w.n, share, name, weight)
}

// misfire takes the torque of single combustions away: each is a dip that comes back. weight is
// how strong it is at a tick; where it is 0 there is none.
func (w *world) misfire(a, b int, p float64, name string, weight func(i int) float64) {
	dip, next, depth := 0.0, 0.0, w.between(25, 60)
	span := Span{Start: -1, Name: name}
	for i := a; i < b; i++ {
		next -= w.rpm[i] / 120 * tick
		if next <= 0 {
			next++
			if w.r.Float64() < p {
				dip += depth * w.between(0.7, 1.2)
			}
		}
		dip -= dip * tick / 0.06
		k := weight(i)
		w.rpm[i] -= dip*k - 0.06*p*depth*w.rpm[i]/120*k
		w.lasts(&span, float64(i)*tick, k > 0)
	}
	if span.Start >= 0 {
		w.spans = append(w.spans, span)
	}
}

// ringing is a misfire under load in a drive line that rings: each missing combustion kicks a
// mode of 2.5 to 6 Hz, which answers for some cycles.
func (w *world) ringing() {
	hz, damping, depth, p := w.between(2.5, 6), w.between(0.1, 0.22), w.between(12, 30), w.between(0.15, 0.7)
	from := w.between(34, 46)
	var speed, wind, next float64
	sin, cos := math.Sincos(2 * math.Pi * hz * tick)
	keep := math.Exp(-damping * 2 * math.Pi * hz * tick)
	span := Span{Start: -1, Name: "misfire"}
	for i := range w.n {
		k := clamp((w.load[i]-from)/8, 0, 1)
		next -= w.rpm[i] / 120 * tick
		if next <= 0 {
			next++
			if w.r.Float64() < p*k {
				speed -= depth * w.between(0.7, 1.3)
			}
		}
		speed, wind = keep*(cos*speed+sin*wind), keep*(cos*wind-sin*speed)
		w.rpm[i] += speed
		w.lasts(&span, float64(i)*tick, k > 0)
	}
	if span.Start >= 0 {
		w.spans = append(w.spans, span)
	}
}

// lasts keeps a span open while its cause goes on and closes it when that has been gone for 3 s.
func (w *world) lasts(span *Span, at float64, on bool) {
	switch {
	case on && span.Start < 0:
		span.Start, span.End = at, at
	case on:
		span.End = at
	case span.Start >= 0 && at > span.End+3:
		w.spans = append(w.spans, *span)
		span.Start = -1
	}
}
