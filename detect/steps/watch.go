package steps

import (
	"math"
	"time"

	"github.com/judder-obd/judder/detect/series"
	"github.com/judder-obd/judder/pids"
)

// Watch recognises the steps of one drive. Samples come in order of time; a step is found some
// seconds after it was made, when it is known what engine speed did after it.
type Watch struct {
	in      inputs
	idle    float64 // rpm at standstill; 0 until it was seen
	held    held
	usual   usual
	level   levelWatch
	coast   coastWatch
	lift    liftWatch
	full    fullWatch
	sweep   sweepWatch
	arming  arming
	open    []pending
	found   []Step
	lookT   float64
	engineT float64 // of the latest reading of engine speed
}

// New returns a watch of one drive.
func New() *Watch {
	w := &Watch{in: newInputs(), usual: usual{rpm: usualStart}, lookT: math.Inf(-1), engineT: math.Inf(-1)}
	w.level.reset()
	w.coast.reset()
	w.lift.reset()
	w.full.reset()
	w.sweep.reset()
	return w
}

// Figures that several rules share.
const (
	lookEvery = 0.1  // s
	gapAfter  = 3.0  // s without engine speed after which nothing before is compared with what follows
	runsRPM   = 400  // slower is no running engine (a misfire monitor starts there: service information, 2022)
	usualIdle = 850. // rpm, where standstill was not seen yet (common practice, no source)
)

// Push takes one sample.
func (w *Watch) Push(s pids.Sample) {
	if math.IsNaN(s.Value) || math.IsInf(s.Value, 0) {
		return
	}
	t := s.At.Seconds()
	if !w.in.take(s, t) || s.Signal != pids.RPM {
		return
	}
	if t-w.engineT > gapAfter {
		w.gap()
	}
	w.engineT = t
	if t-w.lookT < lookEvery {
		return
	}
	w.look(t)
}

// look runs every rule on the readings up to t.
func (w *Watch) look(t float64) {
	w.learn(t, min(t-w.lookT, 1))
	w.lookT = t
	for i := 0; i < len(w.open); i++ {
		if p := w.open[i]; t >= p.due {
			w.open = append(w.open[:i], w.open[i+1:]...)
			i--
			w.settle(&p)
		}
	}
	w.usual.learn(&w.in, t)
	w.lookLevel(t)
	w.lookCoast(t)
	w.lookLift(t)
	w.lookFull(t)
	w.lookSweep(t)
}

// learn keeps idle speed and the ratios that were driven.
func (w *Watch) learn(t, dt float64) {
	rpm, v, ok := w.now(t)
	if !ok || rpm < runsRPM {
		return
	}
	if demand := w.in.demand(); v < 1 && rpm < 2*usualIdle && (demand == nil || demand.closed() || demand.high-demand.low < restMoved) {
		const down, up = 2, 20 // s; a foot may raise it
		slow := float64(down)
		if rpm > w.idle {
			slow = up
		}
		if w.idle == 0 {
			w.idle = rpm
		}
		w.idle += (rpm - w.idle) * dt / slow
	}
	if demand := w.in.demand(); demand != nil && !demand.closed() && v >= heldFromKMH {
		w.held.add(rpm/v, dt)
	}
}

// now is engine speed over the last half second, at least the latest reading, and road speed.
func (w *Watch) now(t float64) (rpm, kmh float64, ok bool) {
	v, seen := w.in.speed.Last()
	if !seen || t-v.T > gapAfter {
		return 0, 0, false
	}
	m, n := mean(w.in.rpm.Since(t - 0.5))
	return m, v.V, n > 0
}

func (w *Watch) idling() float64 {
	if w.idle == 0 {
		return usualIdle
	}
	return w.idle
}

// gap forgets what was before a gap of the link.
func (w *Watch) gap() {
	w.end()
	last, any := w.in.rpm.Last()
	w.in.clear()
	if any {
		w.in.rpm.Add(last) // the reading that ended the gap
	}
}

// end closes what is open: it was not seen to its end.
func (w *Watch) end() {
	w.endCoast(w.engineT)
	w.endFull(w.engineT)
	w.endSweep(w.engineT)
	w.level.reset()
	w.lift.reset()
	for i := range w.open {
		w.open[i].cut = true
		w.settle(&w.open[i])
	}
	w.open = w.open[:0]
}

// Finish ends the drive: what is open is closed.
func (w *Watch) Finish() { w.end() }

// Found returns the steps, in order of when they were known. The slice belongs to the watch; a step
// that is in it does not change any more.
func (w *Watch) Found() []Step { return w.found }

func (w *Watch) keep(s Step) {
	s.Armed = w.arming.covers(s.Kind, s.Start)
	w.found = append(w.found, s)
}

func at(t float64) time.Duration { return series.Duration(max(t, 0)) }
