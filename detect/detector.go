package detect

import (
	"math"
	"time"

	"judder/pids"
)

// Detector judges a drive as its samples come. The zero value is not ready; use New. It is
// not safe for use by several goroutines.
//
// The same samples give the same result, live, from a recording, or in pieces: the result
// depends on the samples and their times only.
type Detector struct {
	th         *thresholds
	rpm        track
	engine     source
	others     [signalCount]source
	conditions conditions
	floors     floors
	stopw      stopWatch
	book       eventBook
	ledger     ledger
	seen       seen
	fit        waveFit
	work       [maxWindow]reading

	zeroAt, zeroLast float64 // s, first and last zero that may be a link fault; NaN when none
	zeros            int
	newT             float64 // s, last engine-speed value that was not a repeat
	readT            float64 // s, last engine-speed reading, a repeat or not
	smallStep        float64 // rpm, smallest change of engine speed seen
	changes          int
	interval         float64 // s, usual time between readings
	spread           float64 // usual spread of that time, as a share of it
	cover            coverage
	asleep           bool    // the ECU slept before the first reading
	sleptT, sleepsT  float64 // s, since when, and when it last did
	started          float64 // s, settle from here
	startedUp        float64 // s, the engine last seen to stand or to be cranked
	scattered        float64 // s, time of the last reading given to the scatter floor
	evalT            float64
	running          int  // evaluations that hold up a swing, running
	passed           bool // one of the running evaluations passed limit and evidence
	lowRate          int
	movedT           float64 // s, the throttle was last seen moving or closed
	steppedT         float64 // s, the ratio last stepped
	scattering       int
	evidence         evidenceLog
	latest           evaluation
	reason           Reason
	state            State
	at               time.Duration
	readings, speeds int
	quietJudged      time.Duration // judged with enough readings for their absence to mean something
	quietStretches   int
	quietT           float64 // s, last judged with enough readings
	alarmT           float64 // s, last alarmed
	learnLess        float64 // s, so long nothing was learnt because of alarms
	slowSeconds      float64
	otherSeconds     float64
	finished         bool
}

// maxWindow is the most readings of a window.
const maxWindow = 512

// New returns a detector for one drive.
func New() *Detector { return newWith(&standard) }

func newWith(th *thresholds) *Detector {
	d := &Detector{
		th: th, rpm: newTrack(maxWindow), conditions: newConditions(), floors: newFloors(th),
		zeroAt: math.NaN(), newT: math.Inf(-1), startedUp: math.Inf(-1), smallStep: math.Inf(1), evalT: math.Inf(-1), steppedT: math.Inf(-1), movedT: math.Inf(-1),
		scattered: math.Inf(-1), quietT: math.Inf(-1), alarmT: math.Inf(-1), reason: Settling,
	}
	d.stopw.crank = math.NaN()
	d.latest = evaluation{swing: math.NaN(), limit: math.NaN(), smallest: math.NaN()}
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
			d.speeds++
			d.conditions.speed.add(reading{t, s.Value})
			d.conditions.noteRest(reading{t, s.Value}, d.th)
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
			d.conditions.coolant, d.conditions.hasCoolant = reading{t, s.Value}, true
		}
	case pids.LoadPct:
		if d.takes(sigLoad, s, t) {
			d.conditions.load, d.conditions.hasLoad = reading{t, s.Value}, true
		}
	}
}

func (d *Detector) takes(i int, s pids.Sample, t float64) bool {
	use, _ := d.others[i].accept(s, t, d.th.sourceHold)
	return use
}

// demand takes a reading of throttle or pedal; a signal that is worse than the one in use is
// dropped.
func (d *Detector) demand(track *demandTrack, source int, s pids.Sample, t float64, rank int) {
	if rank <= track.rank && d.takes(source, s, t) {
		track.take(reading{t, s.Value}, rank)
	}
}

// pushRPM takes an engine-speed sample. It drops the link's faults and the ECU's repeats,
// then follows the engine's stops, and judges the rest.
func (d *Detector) pushRPM(s pids.Sample, t float64) {
	use, changed := d.engine.accept(s, t, d.th.sourceHold)
	if use && s.Value >= d.th.impossible {
		d.stopw.sleeps(t)
		d.sleepsT = t
		if !d.stopw.everRan && d.readings == 0 && !d.asleep {
			d.asleep, d.sleptT = true, t
		}
	}
	if !use || s.Value >= d.th.impossible || s.Value < 0 {
		return
	}
	if changed {
		d.rpm.clear()
	}
	if s.Value < stoppedRPM && !d.stopw.stopped {
		d.holdZero(t)
		return
	}
	d.settleZero(t, s.Value)
	d.readRPM(t, s.Value)
}

// holdZero keeps a zero back until the next readings show what it was.
func (d *Detector) holdZero(t float64) {
	if math.IsNaN(d.zeroAt) {
		d.zeroAt, d.zeros = t, 0
	}
	d.zeros++
	d.zeroLast = t
	ranDown := false
	if r, ok := d.rpm.last(); ok {
		ranDown = r.v < d.th.runs
	}
	if !d.stopw.everRan && d.readings == 0 || ranDown || d.zeros > 1 && t-d.zeroAt > d.th.faultZero {
		d.zeroIsStop()
	}
}

// settleZero decides about zeros held back, now that the engine turns at rpm.
func (d *Detector) settleZero(t, rpm float64) {
	if math.IsNaN(d.zeroAt) {
		return
	}
	if rpm < d.th.runs || d.zeros > 1 && t-d.zeroAt > d.th.faultZero {
		d.zeroIsStop()
		return
	}
	d.zeroAt = math.NaN()
}

func (d *Detector) zeroIsStop() {
	first, last := d.zeroAt, d.zeroLast
	d.zeroAt = math.NaN()
	d.readRPM(first, 0)
	if last > first {
		d.readRPM(last, 0)
	}
}

// readRPM takes an engine-speed reading that is no link fault.
func (d *Detector) readRPM(t, rpm float64) {
	last, any := d.rpm.last()
	if any && t <= last.t {
		return
	}
	speed := d.speedNow(t)
	if !any && d.asleep && rpm >= stoppedRPM && (rpm < d.th.runs || d.sleptLong(t, speed)) {
		d.stopw.begin(d.sleptT, speed) // the key was turned on
		d.stopw.sleeps(d.sleepsT)
	}
	wasStopped := d.stopw.stopped
	d.stopw.read(t, rpm, speed, d.interval, d.th)
	if d.stopw.stopped && !wasStopped && speed >= d.th.speedLow {
		d.conditions.stoppedAtSpeed++
	}
	before := d.readT
	d.readT = t
	if rpm >= d.th.runs && any && d.repeats(t, rpm, last) {
		return
	}
	d.readings++
	d.newT = t
	if !any || t-last.t <= d.th.gap || t-before > d.th.gap {
		d.noteGap(t, last, any, rpm)
	} // else the same value was read again and again: no gap, and nothing to learn of the rate
	d.rpm.add(reading{t, rpm})
	if rpm < d.th.runs {
		d.started, d.startedUp = t, t
	}
	d.learnScatter(t)
	if t-d.evalT >= d.th.evalEvery-1e-9 || d.stopw.stopped != wasStopped {
		d.evaluate(t)
	}
}

// sleptLong reports whether the engine was off before the first reading at t: the ECU slept
// that long while the car was not moving. Some ECUs wake only when the engine runs. A shorter
// sleep is a fault at the beginning of the link.
func (d *Detector) sleptLong(t, speed float64) bool {
	return t-d.sleptT >= d.th.sleptLeast && !(speed > d.th.rollingSpeed)
}

// speedNow returns road speed, km/h; NaN when it has not been read lately.
func (d *Detector) speedNow(t float64) float64 {
	if v, ok := d.conditions.speed.last(); ok && t-v.t <= d.th.stale {
		return v.v
	}
	return math.NaN()
}

// repeats reports whether a reading is the last one again, because the ECU refreshes more
// slowly than it is asked: exactly the same value, from an ECU with fine steps.
func (d *Detector) repeats(t, rpm float64, last reading) bool {
	if rpm != last.v {
		d.changes++
		d.smallStep = min(d.smallStep, math.Abs(rpm-last.v))
		return false
	}
	coarse := d.changes >= d.th.coarseAfter && d.smallStep >= d.th.coarseStep
	return !coarse && t-d.newT <= d.th.gap
}

// noteGap closes the books up to a gap of the link and starts again after it.
func (d *Detector) noteGap(t float64, last reading, any bool, rpm float64) {
	if !any {
		d.started = t
		if t > 0 {
			if d.stopw.stopped {
				d.ledger.add(d.stopw.open.Start, LinkGap, 0)
				d.ledger.add(seconds(t), EngineStopped, 0)
			}
			d.ledger.add(seconds(t), LinkGap, 0)
		}
		d.evalT = t
		return
	}
	dt := t - last.t
	if dt <= d.th.gapOf(d.interval) {
		if d.interval == 0 {
			d.interval = dt
		}
		dt = min(dt, 3*d.interval)
		d.interval += 0.05 * (dt - d.interval)
		d.spread += 0.05 * (min(1, math.Abs(dt/d.interval-1)) - d.spread)
		return
	}
	if d.stopw.stopped && t-d.stopw.heard <= d.th.gap {
		return // the ECU slept: the key is off, and nothing is unseen
	}
	d.spend(last.t, d.reason, &d.latest)
	d.ledger.add(seconds(t), LinkGap, 0)
	d.evalT = t
	d.started = max(d.started, t-d.th.settle+d.th.window/2)
	d.conditions.steadySince, d.state.SteadyFor = t, 0
	d.running, d.scattering, d.passed = 0, 0, false
	d.rpm.clear()
}

// learnScatter gives the floors the quick scatter of the newest reading that has neighbours
// on both sides, while the car neither speeds up nor slows down: on a real drive, a floor learnt
// while pulling away hid swings of 80 rpm for half a minute (TestAddedSwings in detect/bench).
func (d *Detector) learnScatter(t float64) {
	w := d.rpm.since(t - 1.6)
	i := len(w) - 2
	for i > 0 && w[i].t > t-d.th.scatterSide {
		i--
	}
	if i <= 0 || w[i].t < d.scattered+1.0/floorRate || w[i].v < d.th.runs {
		return
	}
	v, ok := quickScatter(w, i, d.th.scatterSide)
	speed, known := d.conditions.speed.last()
	if !ok || !known {
		return
	}
	before := d.scattered
	d.scattered = w[i].t
	crawls := speed.v < d.th.crawlSpeed
	if d.state.Alarmed || t-d.alarmT < d.th.learnAfter && !crawls {
		if before > 0 {
			d.learnLess += min(w[i].t-before, 1) // the floors' clock stops
		}
		return
	}
	if d.conditions.moving(t, d.th) {
		return
	}
	d.floors.driving.add(w[i].t-d.learnLess, v)
	if crawls {
		d.floors.crawl.add(w[i].t-d.learnLess, v)
	}
}

// Latest returns the last look at the window, for a lane that draws the swing.
func (d *Detector) Latest() Look {
	return Look{At: seconds(d.latest.t), SwingRPM: d.latest.swing, LimitRPM: d.latest.limit, Evidence: d.latest.evidence, Hz: d.latest.hz,
		WaveRPM: d.latest.wave, LeftRPM: d.latest.left, ScatterRPM: d.latest.floor}
}

// Look is one look at the window: the swing and its limit, rpm peak to peak, NaN when not
// measured; the evidence for a regular wave, in natural units of likelihood, and its
// frequency, both 0 when no wave was fitted.
type Look struct {
	At                 time.Duration
	SwingRPM, LimitRPM float64
	Evidence, Hz       float64
	WaveRPM, LeftRPM   float64 // wave peak to peak, and the r.m.s. it leaves
	ScatterRPM         float64 // the car's own quick scatter, standard deviation
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
	if d.readings == 0 {
		return false
	}
	t := at.Seconds()
	if d.stopw.stopped {
		return t-d.stopw.last() > d.th.gapOf(d.interval)
	}
	return t-d.readT > d.th.gapOf(d.interval)
}

// Spans returns every second of the drive so far with its reason.
func (d *Detector) Spans() []Span { return d.ledger.spans }

// Observations returns what was seen that is not shudder.
func (d *Detector) Observations() []Observation { return d.seen.all }

// Verdict weighs the drive so far.
func (d *Detector) Verdict() Verdict { return d.verdict() }

// Finish ends the drive at a time: what is open is closed. Push after Finish is ignored.
func (d *Detector) Finish(at time.Duration) {
	if d.finished {
		return
	}
	d.finished = true
	at = max(at, d.at)
	d.at = at
	t := at.Seconds()
	if !math.IsNaN(d.zeroAt) && d.zeroLast > d.zeroAt {
		d.zeroIsStop()
	}
	d.stopw.finish(t, d.speedNow(t), d.interval, d.th)
	last, any := d.rpm.last()
	switch {
	case !any:
		d.ledger.add(at, LinkGap, 0)
	case d.stopw.stopped:
		d.ledger.add(max(seconds(last.t), seconds(d.stopw.last())), EngineStopped, 0)
		if t-d.stopw.last() > d.th.gapOf(d.interval) {
			d.ledger.add(at, LinkGap, 0)
		}
		d.ledger.add(at, EngineStopped, 0)
	case t-last.t > d.th.gapOf(d.interval):
		d.spend(last.t, d.reason, &d.latest)
		d.ledger.add(at, LinkGap, 0)
	default:
		d.spend(t, d.reason, &d.latest)
	}
	d.seen.finish()
	d.book.open = false
	d.state.At, d.state.Alarmed, d.state.Judged = at, false, d.ledger.judged
}

// usualRate returns the median-like rate of engine-speed readings, a second.
func (d *Detector) usualRate() float64 {
	if d.interval == 0 {
		return 0
	}
	return 1 / d.interval
}
