package steps

import "math"

// stretch is a step that lasts: the swing before it is measured as it begins, and that after it as
// soon as there are the readings, since they are not kept until its end.
type stretch struct {
	from, after   float64 // s; from is +Inf when there is none
	kmh           float64 // at its beginning
	before, swing float64 // rpm peak to peak
	stopped       float64 // s, when the swing had fallen to half; from where it did not
	noWave        bool
	measured      bool
}

func noStretch() stretch { return stretch{from: math.Inf(1)} }

func (x *stretch) on() bool { return !math.IsInf(x.from, 1) }

// begin begins a stretch; the swing before it is that up to before, and that after it begins at after.
func (w *Watch) begin(from, before, kmh, after float64) stretch {
	x := stretch{from: from, after: after + settleOver, kmh: kmh, swing: nan(), stopped: from}
	x.before, x.noWave = w.before(before)
	return x
}

// measure measures the swing once its readings are there.
func (x *stretch) measure(w *Watch, t float64) {
	if !x.on() || x.measured || t < x.after+swingOver {
		return
	}
	x.weigh(w, t)
	x.measured = true
}

func (x *stretch) weigh(w *Watch, t float64) {
	p := pending{start: x.from, end: x.after, until: t}
	p.BeforeRPM = x.before
	x.swing = swing(between(&w.in.rpm, x.after, min(t, x.after+swingOver)))
	x.stopped = w.stopped(&p)
}

// ended keeps a stretch as a step.
func (w *Watch) ended(x *stretch, k Kind, t, rise float64) {
	if !x.measured {
		x.weigh(w, t)
	}
	p := pending{start: x.from, end: t, until: t}
	p.Step = Step{Kind: k, Start: at(x.from), End: at(t), RPMStep: rise, BeforeRPM: x.before, NoWave: x.noWave, AfterRPM: x.swing, SpeedKMH: x.kmh, Gear: w.in.gearAt(x.from - gearLead)}
	p.NoWave = p.NoWave || w.ordinary(&p)
	p.calm(x.stopped)
	p.Fault = w.fault(&p)
	w.keep(p.Step)
}
