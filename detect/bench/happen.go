package bench

import "math"

// happen puts the script's event into a cruise.
func (w *world) happen(kind Kind, index int, c [2]int, swing float64) {
	room := float64(c[1]-c[0]) / stepHz
	at := func(from, to float64) (a, b int) {
		length := min(w.between(from, to), room-4)
		start := w.between(1, max(1.5, room-length-1))
		a = c[0] + int(start*stepHz)
		return a, min(w.n, a+int(length*stepHz))
	}
	switch kind {
	case Bursts:
		for range 1 + w.r.IntN(2) {
			if w.r.Float64() < 0.6 {
				a, b := at(1.5, 8)
				if !w.overlaps(a, b) {
					w.shudder(a, b, w.between(50, 170), w.between(1, 6))
				}
			}
		}
	case SawBursts, ShortBursts, BigBursts, DriftBursts, HillBursts, ColdBursts:
		w.special(kind, at)
	case AlwaysOn:
		w.shudder(c[0]-int(2*stepHz), c[1], swing, w.between(1, 5))
	case Misfire, PartMisfire, ColdMisfire, HillMisfire, TrainMisfire, Cold:
		if index == 0 {
			w.throughout(kind)
		}
	case RingMisfire:
		if index == 0 {
			w.ringing()
		}
	case Lash:
		w.lash(c)
	case LoadMisfire:
		a, b := at(4, 25)
		for i := a; i < b; i++ {
			w.load[i] += 25
			w.pedal[i] += 2
		}
		w.misfire(a, b, w.between(0.15, 1), "misfire", func(int) float64 { return 1 })
	case RoughRoad:
		a, b := at(3, 20)
		w.rough(a, b)
	case Surge:
		a, b := at(8, 30)
		w.wave(a, b, wave{swing: w.between(40, 140), hz: w.between(0.3, 0.7), drift: 0.1}, Span{Name: "surge"})
	case LockCycling:
		w.cycling(c, w.between(2, 9), w.between(60, 250), "lock-up cycling")
	case GearHunting:
		w.cycling(c, w.between(6, 16), w.between(350, 600), "gear hunting")
	case TipIn:
		w.tipIn(c)
	case SlipControl:
		w.wave(c[0], c[1], wave{swing: w.between(15, 40), hz: w.between(0.8, 2.5), drift: 0.5, saw: 0.3}, Span{Name: "slip control"})
	}
}

func (w *world) overlaps(a, b int) bool {
	for _, s := range w.spans {
		if float64(a)*tick < s.End+3 && float64(b)*tick > s.Start-3 {
			return true
		}
	}
	return false
}

func (w *world) shudder(a, b int, swing, hz float64) {
	w.wave(a, b, wave{swing: swing, hz: hz, drift: w.between(0, 0.35), saw: w.between(0, 0.8)}, shudderSpan)
}

var shudderSpan = Span{Name: "shudder", Shudder: true, Counts: true}

// special puts one or two bursts of a sort of its own into a cruise.
func (w *world) special(kind Kind, at func(from, to float64) (a, b int)) {
	for range 1 + w.r.IntN(2) {
		v := wave{swing: w.between(50, 170), hz: w.between(1, 6), drift: w.between(0, 0.35), saw: w.between(0, 0.8)}
		from, to := 1.5, 8.0
		switch kind {
		case SawBursts:
			v.saw, v.hz = w.between(0.9, 1), w.between(1, 4)
		case ShortBursts:
			from = w.between(1.2, 2.8) / v.hz
			to = from
			v.rise, v.fall = 0.1, 0.1
		case BigBursts:
			v.swing, v.hz = w.between(170, 600), w.between(0.9, 2.8)
		case DriftBursts:
			v.drift, v.hz, from, to = w.between(0.5, 0.9), w.between(1.8, 4), 3.5, 12
			v.rise, v.fall = w.between(0.6, 1.5), w.between(0.6, 1.5)
		}
		if a, b := at(from, to); b-a >= int(0.4*stepHz) && !w.overlaps(a, b) {
			w.wave(a, b, v, shudderSpan)
		}
	}
}

// lash is a single blow now and then: engine speed swings once at 1.3 to 1.9 Hz and settles.
func (w *world) lash(c [2]int) {
	for i := c[0] + int(w.between(1, 6)*stepHz); i < c[1]-400; i += int(w.between(5, 20) * stepHz) {
		hz, fade, size := w.between(1.3, 1.9), w.between(0.18, 0.4), w.between(-1, 1)
		size = math.Copysign(40+90*math.Abs(size), size)
		for k := 0; k < 600 && i+k < w.n; k++ {
			t := float64(k) * tick
			w.rpm[i+k] += size * math.Exp(-t/fade) * math.Sin(2*math.Pi*hz*t)
		}
		w.spans = append(w.spans, Span{Start: float64(i) * tick, End: float64(i)*tick + 1, Name: "lash"})
	}
}

// wave is a swing whose frequency drifts (by share drift of itself), whose height grows, fades
// and breathes, and whose shape lies between a sine and a saw.
type wave struct {
	swing, hz, drift, saw float64
	rise, fall            float64 // s of growing and fading; 0: drawn
}

func (w *world) wave(a, b int, v wave, s Span) {
	a = max(a, 0)
	phase := w.between(0, 2*math.Pi)
	if v.rise == 0 {
		v.rise, v.fall = w.between(0.1, 0.8), w.between(0.2, 1)
	}
	swing, hz, drift, saw, rise, fall := v.swing, v.hz, v.drift, v.saw, v.rise, v.fall
	f, breath, begun := hz, 0.0, phase
	length := float64(b-a) * tick
	top := 0.0 // of the mixed shape, so that the swing is what it says
	for k := range 100 {
		x := float64(k) / 100
		top = max(top, (1-saw)*math.Sin(2*math.Pi*x)+saw*(1-2*x))
	}
	slope := hz * drift * w.between(-1, 1) / max(1, length)
	for i := a; i < b; i++ {
		t := float64(i-a) * tick
		f += slope*tick - (f-hz-slope*t)/1.5*tick + hz*drift*0.4*math.Sqrt(2*tick/1.5)*w.r.NormFloat64()
		f = clamp(f, 0.6*hz, 1.5*hz)
		breath += -breath/0.8*tick + 0.12*math.Sqrt(2*tick/0.8)*w.r.NormFloat64()
		phase += 2 * math.Pi * f * tick
		env := min(1, t/rise, (length-t)/fall) * (1 + breath)
		shape := math.Sin(phase)
		if saw > 0 {
			turn := phase / (2 * math.Pi)
			shape = ((1-saw)*shape + saw*(1-2*(turn-math.Floor(turn)))) / top
		}
		w.rpm[i] += env * swing / 2 * shape
	}
	s.Start, s.End, s.SwingRPM, s.Hz = float64(a)*tick+rise/2, float64(b)*tick-fall/2, swing, hz
	if drift > 0.35 {
		s.Hz = (phase - begun) / (2 * math.Pi) / length // the mean, where it runs away
	}
	if s.End > s.Start+0.3 {
		w.spans = append(w.spans, s)
	}
}

// rough is broadband: a body bounce of 1 to 2 Hz and wheel hop of 10 to 14, both random.
func (w *world) rough(a, b int) {
	var y [2][2]float64
	hz := [2]float64{w.between(1, 2), w.between(10, 14)}
	sd := [2]float64{w.between(2, 6), w.between(5, 15)}
	white := w.between(4, 14)
	q := 0.0
	for i := a; i < b; i++ {
		env := min(1, float64(i-a)*tick/0.5, float64(b-i)*tick/0.5)
		for m := range hz {
			om := 2 * math.Pi * hz[m]
			z := 0.25
			acc := -om*om*y[m][0] - 2*z*om*y[m][1] + math.Sqrt(4*z*om*om*om)*sd[m]*w.r.NormFloat64()/math.Sqrt(tick)
			y[m][1] += acc * tick
			y[m][0] += y[m][1] * tick
		}
		q += -q/0.08*tick + white*math.Sqrt(2*tick/0.08)*w.r.NormFloat64()
		w.rpm[i] += env * (y[0][0] + y[1][0] + q)
		w.speed[i] += env * y[0][0] / 40
	}
	w.spans = append(w.spans, Span{Start: float64(a) * tick, End: float64(b) * tick, Name: "rough road"})
}

func (w *world) cycling(c [2]int, period, step float64, name string) {
	level, goal := 0.0, 0.0
	left := w.between(0.3, 1) * period
	tau := w.between(0.1, 0.4)
	for i := c[0]; i < min(w.n, c[1]+200); i++ {
		if left -= tick; left <= 0 && i < c[1] {
			left = period / 2 * w.between(0.7, 1.3)
			goal = step - goal
		}
		if i >= c[1] {
			goal = 0
		}
		level += (goal - level) * tick / tau
		w.rpm[i] += level
	}
	w.spans = append(w.spans, Span{Start: float64(c[0]) * tick, End: float64(c[1]) * tick, Name: name})
}

func (w *world) tipIn(c [2]int) {
	for i := c[0] + 200; i < c[1]-800; i += int(w.between(5, 12) * stepHz) {
		step, hz, size := w.between(2, 20), w.between(1.5, 7), w.between(40, 110)
		for k := 0; k < 600 && i+k < w.n; k++ {
			t := float64(k) * tick
			w.pedal[i+k] += step * min(1, t/0.3, (3-t)/0.3)
			w.rpm[i+k] += size * math.Exp(-t/0.4) * math.Sin(2*math.Pi*hz*t)
		}
	}
	w.spans = append(w.spans, Span{Start: float64(c[0]) * tick, End: float64(c[1]) * tick, Name: "tip-in"})
}
