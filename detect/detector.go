package detect

import (
	"math"
	"time"

	"github.com/judder-obd/judder/detect/series"
	"github.com/judder-obd/judder/pids"
)

// Detector judges a drive as its samples come. The zero value is not ready; use New. It is
// not safe for use by several goroutines.
//
// The same samples give the same result, live, from a recording, or in pieces: the result
// depends on the samples and their times only.
type Detector struct {
	th         *Tuning
	noises     [colours]noise
	in         intake
	others     [signalCount]series.Source
	conditions conditions
	floor      floor
	rule       rule
	stopw      stopWatch
	book       eventBook
	books      books
	seen       seen
	fit, rest  window
	work       [maxWindow]series.Reading
	latest     look
	reason     Reason
	state      State
	at         time.Duration
	finished   bool
}

// maxWindow is the most readings that a window is cut from.
const maxWindow = 256

// New returns a detector for one drive.
func New() *Detector { return newWith(&standard) }

func newWith(th *Tuning) *Detector {
	d := &Detector{th: th, noises: newNoises(th), in: newIntake(), conditions: newConditions(), rule: newRule(), books: newBooks(), reason: Settling}
	d.stopw.crank = math.NaN()
	d.latest = newLook(0)
	d.state = State{Reason: Settling, SwingRPM: math.NaN(), LimitRPM: math.NaN(), SmallestRPM: math.NaN(), SpeedKMH: math.NaN()}
	return d
}

// Signals the detector reads, in the order of their sources.
const (
	sigSpeed = iota
	sigThrottle
	sigPedal
	sigCoolant
	sigLoad
	signalCount
)

// A further signal of driver demand, by its SAE J1979 name.
const tacPct pids.Signal = "TAC_PCT" // commanded throttle actuator, %

// Push takes one sample. Samples come in order of time; one that is older than the last is
// dropped. Signals the detector does not know are ignored.
func (d *Detector) Push(s pids.Sample) {
	if d.finished || s.At < d.at || math.IsNaN(s.Value) || math.IsInf(s.Value, 0) {
		return
	}
	d.at = s.At
	t := s.At.Seconds()
	switch s.Signal {
	case pids.RPM:
		d.pushRPM(s, t)
	case pids.VSS:
		if d.takes(sigSpeed, s, t) {
			d.books.speeds++
			d.conditions.speed.Add(series.Reading{T: t, V: s.Value})
			d.conditions.noteRest(series.Reading{T: t, V: s.Value}, d.th)
			d.stopw.rolls(s.Value, d.th)
		}
	case pids.TP:
		d.demand(&d.conditions.throttle, sigThrottle, s, t, 0)
	case pids.TPR:
		d.demand(&d.conditions.throttle, sigThrottle, s, t, 1)
	case tacPct:
		d.demand(&d.conditions.throttle, sigThrottle, s, t, 2)
	case pids.APPD:
		d.demand(&d.conditions.pedal, sigPedal, s, t, 0)
	case pids.APPR:
		d.demand(&d.conditions.pedal, sigPedal, s, t, 1)
	case pids.ECT:
		if d.takes(sigCoolant, s, t) {
			d.conditions.coolant, d.conditions.hasCoolant = series.Reading{T: t, V: s.Value}, true
		}
	case pids.GearAct:
		d.conditions.reportedGear.take(t, s.Value)
	case pids.LoadPct:
		if d.takes(sigLoad, s, t) {
			d.conditions.load, d.conditions.hasLoad = series.Reading{T: t, V: s.Value}, true
		}
	}
}

func (d *Detector) takes(i int, s pids.Sample, t float64) bool {
	use, _ := d.others[i].Accept(s, t, d.th.Settle)
	return use
}

// demand takes a reading of throttle or pedal; a signal that is worse than the one in use is
// dropped.
func (d *Detector) demand(track *demandTrack, source int, s pids.Sample, t float64, rank int) {
	if rank <= track.rank && d.takes(source, s, t) {
		track.take(series.Reading{T: t, V: s.Value}, rank)
	}
}

// Latest returns the last look at the window, for a lane that draws the swing.
func (d *Detector) Latest() Look {
	l := &d.latest
	return Look{At: seconds(l.t), SwingRPM: l.swing, LimitRPM: l.limit, Evidence: l.fit.evidence, FreeEvidence: l.fit.free, Hz: l.fit.hz,
		WaveRPM: l.fit.wave, LeftRPM: l.fit.left, UsualRPM: l.usual, RMS: l.rms, Cycles: l.fit.cycles, Span: l.fit.span, Passed: l.passed, Margin: l.margin, Healthy: l.fit.healthy.String()}
}

// Look is one look at the windows: the swing and its limit, rpm peak to peak, NaN when not
// measured; the evidence for a wave, in natural units of likelihood, and its frequency, both 0
// when no wave was fitted.
type Look struct {
	At                     time.Duration
	SwingRPM, LimitRPM     float64
	Evidence, FreeEvidence float64 // with the floor's scatter, and with the scatter unknown
	Hz, Cycles, Span       float64
	WaveRPM, LeftRPM       float64 // wave peak to peak, and the r.m.s. it leaves
	UsualRPM, RMS          float64 // r.m.s. about a parabola under this load: usual, and now
	Passed                 bool
	Margin                 float64 // nats beyond what the rule wants
	Healthy                string  // the healthy explanation that is best
}

// State returns the present state.
func (d *Detector) State() State { return d.state }

// Events returns the stretches of shudder, oldest first; the last may still grow. The slice
// belongs to the detector and is valid until the next Push.
func (d *Detector) Events() []Event { return d.book.events }

// Stops returns the engine stops, oldest first; the last may still be open.
func (d *Detector) Stops() []Stop { return d.stopw.stops }

// Unread reports whether there is a gap of the link at a time: engine speed was not read for so
// long that the state is that of an earlier moment. While the ECU of a stopped engine sleeps,
// there is no gap.
func (d *Detector) Unread(at time.Duration) bool {
	if d.in.readings == 0 {
		return false
	}
	t := at.Seconds()
	if d.stopw.stopped {
		return t-d.stopw.last() > d.th.gapOf(d.in.interval)
	}
	return t-d.in.readT > d.th.gapOf(d.in.interval)
}

// Spans returns every second of the drive so far with its reason.
func (d *Detector) Spans() []Span { return d.books.ledger.spans }

// Observations returns what was seen that is not shudder.
func (d *Detector) Observations() []Observation { return d.seen.all }

// Verdict weighs the drive so far.
func (d *Detector) Verdict() Verdict { return finding{d}.verdict() }

// Finish ends the drive at a time: what is open is closed. Push after Finish is ignored.
func (d *Detector) Finish(at time.Duration) {
	if d.finished {
		return
	}
	d.finished = true
	at = max(at, d.at)
	d.at = at
	t := at.Seconds()
	if !math.IsNaN(d.in.zero.at) && d.in.zero.last > d.in.zero.at {
		d.zeroIsStop()
	}
	d.stopw.finish(t, d.speedNow(t), d.in.interval, d.th)
	last, any := d.in.rpm.Last()
	ledger := &d.books.ledger
	switch {
	case !any:
		ledger.add(at, LinkGap, 0)
	case d.stopw.stopped:
		ledger.add(max(seconds(last.T), seconds(d.stopw.last())), EngineStopped, 0)
		if t-d.stopw.last() > d.th.gapOf(d.in.interval) {
			ledger.add(at, LinkGap, 0)
		}
		ledger.add(at, EngineStopped, 0)
	case t-d.in.lastT > d.th.gapOf(d.in.interval):
		d.spend(d.in.lastT, d.reason, &d.latest)
		ledger.add(at, LinkGap, 0)
	default:
		d.spend(t, d.reason, &d.latest)
	}
	d.seen.finish()
	d.book.open = false
	d.state.At, d.state.Alarmed, d.state.Judged = at, false, ledger.judged
}
