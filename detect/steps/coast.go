package steps

import "math"

// coastWatch looks for a coast in neutral: the car rolls, and engine speed is that of idling.
type coastWatch struct {
	stretch
	rpm       float64 // in gear before
	confirmed bool
}

func (c *coastWatch) reset() { *c = coastWatch{stretch: noStretch()} }

// A coast in neutral.
const (
	coastFromKMH = 30.  // at its beginning: below it, an automatic idles with its converter open
	coastToKMH   = 15.  // it ends here
	idleWithin   = 150. // rpm above idle
	coastLeast   = 1.5  // s, longer than a change of gear (0.2 to 0.6 s, a manual's about 1)
	coastReads   = 3    // readings of engine speed
	// Engine speed is free of the wheels when road speed has fallen by so much, in ln, and engine
	// speed by less than this share of it; less will do below the lowest ratio of the drive.
	freeFall   = 0.08
	freeShare  = 0.3
	belowFall  = 0.03
	belowRatio = 0.85
	freeOver   = 6.0 // s
	// A colder converter is open, and its engine idles with the gear engaged as the car slows down
	// (service information, 1995: the clutch applies from 54 °C).
	clutchFromC = 54.
)

func (w *Watch) lookCoast(t float64) {
	w.coast.measure(w, t)
	rpm, v, ok := w.now(t)
	latest, _ := w.in.rpm.Last()
	c := &w.coast
	neutral, reported := w.neutral(t)
	idles := ok && rpm >= runsRPM && (neutral || !reported && latest.V <= w.idling()+idleWithin && w.letGo())
	switch {
	case !idles || v < coastToKMH:
		w.endCoast(t)
	case !c.on():
		if v >= coastFromKMH {
			*c = coastWatch{stretch: w.begin(t, w.letGoT(t), v, t), rpm: w.inGear(t)}
		}
	case !c.confirmed && t-c.from >= coastLeast:
		c.confirmed = w.free(t)
	}
}

// neutral reports whether the car reports neutral; reported is whether it reports any gear. One that
// never reported a gear has none to leave.
func (w *Watch) neutral(t float64) (neutral, reported bool) {
	r := between(&w.in.gear, t-gapAfter, t)
	if len(r) == 0 || !w.in.geared {
		return false, false
	}
	return r[len(r)-1].V == 0, true
}

// letGo reports whether demand is at rest.
func (w *Watch) letGo() bool {
	demand := w.in.demand()
	return demand != nil && demand.closed()
}

// letGoT is about when the wheels were let go, at most a second before t where nothing shows it.
func (w *Watch) letGoT(t float64) float64 {
	if x := w.lift.closedT; x <= t {
		return x
	}
	return t - 1
}

// inGear is the highest mean engine speed of half a second in the 3 s before.
func (w *Watch) inGear(t float64) (most float64) {
	for back := 0.5; back <= 3; back += 0.5 {
		if m, n := mean(between(&w.in.rpm, t-back-0.5, t-back)); n > 0 {
			most = max(most, m)
		}
	}
	return most
}

// free reports whether engine speed does not follow the wheels since the coast began.
func (w *Watch) free(t float64) bool {
	if neutral, _ := w.neutral(t); neutral {
		return true
	}
	if w.in.coolantRead && w.in.coolantC < clutchFromC {
		return false
	}
	r := between(&w.in.rpm, max(w.coast.from, t-freeOver), t)
	if len(r) < coastReads {
		return false
	}
	first, last := r[0], r[len(r)-1]
	fall := math.Log(w.in.speedAt(first.T) / w.in.speedAt(last.T))
	followed := math.Log(first.V / last.V)
	if followed > freeShare*fall {
		return false
	}
	low := w.held.lowest()
	return fall >= freeFall || fall >= belowFall && last.V < belowRatio*low*w.in.speedAt(last.T)
}

// speedAt is road speed at a time, between its readings.
func (in *inputs) speedAt(t float64) float64 {
	r := in.speed.Since(t)
	i := len(in.speed.All) - len(r)
	switch {
	case len(in.speed.All) == 0:
		return nan()
	case i == 0:
		return max(r[0].V, 1)
	case len(r) == 0:
		return max(in.speed.All[i-1].V, 1)
	}
	a, b := in.speed.All[i-1], r[0]
	return max(a.V+(b.V-a.V)*(t-a.T)/max(b.T-a.T, 1e-3), 1)
}

// endCoast ends a coast; one that was seen to be free is a step.
func (w *Watch) endCoast(t float64) {
	c := &w.coast
	if c.confirmed {
		w.ended(&c.stretch, NeutralCoast, t, w.in.meanRPM(c.from, t)-c.rpm)
	}
	c.reset()
}

func (in *inputs) meanRPM(from, to float64) float64 {
	m, _ := mean(between(&in.rpm, from, to))
	return m
}
