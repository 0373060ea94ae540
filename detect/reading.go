package detect

import (
	"math"

	"github.com/judder-obd/judder/detect/series"
	"github.com/judder-obd/judder/pids"
)

// intake takes engine-speed readings in: it drops the link's faults and the ECU's repeats, averages
// readings that are nearer than an ECU can tell apart, and knows the rate and the gaps.
type intake struct {
	engine          series.Source
	rpm             series.Track // averaged
	all             series.Track // each one
	group           float64      // s, first reading of those averaged into the last one
	grouped         float64      // how many they are
	zero            heldZero
	newT            float64 // s, last value that was not a repeat
	readT           float64 // s, last reading, a repeat or not
	lastT           float64 // s, last reading that was taken in
	lastV           float64 // rpm, of it
	smallStep       float64 // rpm, smallest change seen
	changes         int
	interval        float64 // s, usual time between readings
	spread          float64 // usual spread of that time, as a share of it
	sleptT, sleepsT float64 // s, since when the ECU slept before the first reading, and when it last did; 0 when it did not
	started         float64 // s, settle from here
	startedUp       float64 // s, the engine last seen to stand or to be cranked
	readings        int
}

// heldZero are zeros that may be a fault of the link.
type heldZero struct {
	at, last float64 // s, the first and the last; at is NaN when there is none
	count    int
}

func newIntake() intake {
	return intake{rpm: series.NewTrack(maxWindow), all: series.NewTrack(2 * maxWindow), zero: heldZero{at: math.NaN()}, startedUp: math.Inf(-1),
		smallStep: math.Inf(1), sleptT: math.NaN()}
}

// rate returns the usual rate of engine-speed readings, a second.
func (in *intake) rate() float64 {
	if in.interval == 0 {
		return 0
	}
	return 1 / in.interval
}

// asleepRPM: at and above, it is the FFFF of a sleeping ECU, 16383.75 rpm (SAE J1979).
const asleepRPM = 16000

// pushRPM takes an engine-speed sample. It drops the link's faults and the ECU's repeats,
// then follows the engine's stops, and judges the rest.
func (d *Detector) pushRPM(s pids.Sample, t float64) {
	use, changed := d.in.engine.Accept(s, t, d.th.Settle)
	if use && s.Value >= asleepRPM {
		d.stopw.sleeps(t)
		d.in.sleepsT = t
		if !d.stopw.everRan && d.in.readings == 0 && math.IsNaN(d.in.sleptT) {
			d.in.sleptT = t
		}
	}
	if !use || s.Value >= asleepRPM || s.Value < 0 {
		return
	}
	if changed {
		d.in.rpm.Clear()
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
	in := &d.in
	if math.IsNaN(in.zero.at) {
		in.zero.at, in.zero.count = t, 0
	}
	in.zero.count++
	in.zero.last = t
	_, any := in.rpm.Last()
	ranDown := any && in.lastV < runsRPM
	if !d.stopw.everRan && in.readings == 0 || ranDown || t-in.zero.at > faultZero {
		d.zeroIsStop()
	}
}

// settleZero decides about zeros held back, now that the engine turns at rpm.
func (d *Detector) settleZero(t, rpm float64) {
	if math.IsNaN(d.in.zero.at) {
		return
	}
	if rpm < runsRPM || d.in.zero.count > 1 && t-d.in.zero.at > faultZero {
		d.zeroIsStop()
		return
	}
	d.in.zero.at = math.NaN()
}

func (d *Detector) zeroIsStop() {
	first, last := d.in.zero.at, d.in.zero.last
	d.in.zero.at = math.NaN()
	d.readRPM(first, 0)
	if last > first {
		d.readRPM(last, 0)
	}
}

// readRPM takes an engine-speed reading that is no link fault.
func (d *Detector) readRPM(t, rpm float64) {
	in := &d.in
	_, any := in.rpm.Last()
	if any && t <= in.lastT {
		return
	}
	speed := d.speedNow(t)
	if !any && !math.IsNaN(in.sleptT) && rpm >= stoppedRPM && (rpm < runsRPM || d.sleptLong(t, speed)) {
		d.stopw.begin(in.sleptT, speed) // the key was turned on
		d.stopw.sleeps(in.sleepsT)
	}
	wasStopped := d.stopw.stopped
	d.stopw.read(t, rpm, speed, in.interval, d.th)
	if d.stopw.stopped && !wasStopped && speed >= CruiseFromKMH {
		d.conditions.stoppedAtSpeed++
	}
	before := in.readT
	in.readT = t
	if rpm >= runsRPM && any && in.repeats(t, rpm, d.th.Gap) {
		return
	}
	in.readings++
	in.newT = t
	if !any || t-in.lastT <= d.th.Gap || t-before > d.th.Gap {
		d.noteGap(t, any)
	} // else the same value was read again and again: no gap, and nothing to learn of the rate
	in.take(t, rpm, d.th)
	if t-d.rule.lookT >= lookEvery-1e-9 || d.stopw.stopped != wasStopped {
		d.look(t)
	}
}

// take adds a reading, or averages it into the last one: a fast link with a slow ECU reads one
// firing segment twice.
func (in *intake) take(t, rpm float64, th *Tuning) {
	in.lastT, in.lastV = t, rpm
	in.all.Add(series.Reading{T: t, V: rpm})
	if n := len(in.rpm.All); n > 0 && t-in.group < th.Near && rpm >= runsRPM {
		last := &in.rpm.All[n-1]
		in.grouped++
		last.T += (t - last.T) / in.grouped
		last.V += (rpm - last.V) / in.grouped
	} else {
		in.rpm.Add(series.Reading{T: t, V: rpm})
		in.group, in.grouped = t, 1
	}
	if rpm < runsRPM {
		in.started, in.startedUp = t, t
	}
}

// sleptLeast is how long, s, an ECU sleeps before the first reading when the engine was off (chosen).
const sleptLeast = 1

// sleptLong reports whether the engine was off before the first reading at t: the ECU slept
// that long while the car was not moving. Some ECUs wake only when the engine runs. A shorter
// sleep is a fault at the beginning of the link.
func (d *Detector) sleptLong(t, speed float64) bool {
	return t-d.in.sleptT >= sleptLeast && !(speed > rollingSpeed)
}

// speedNow returns road speed, km/h; NaN when it has not been read lately.
func (d *Detector) speedNow(t float64) float64 {
	if v, ok := d.conditions.speed.Last(); ok && t-v.T <= d.th.Settle {
		return v.V
	}
	return math.NaN()
}

// An ECU whose smallest step is coarseStep rpm after coarseAfter changes has coarse steps: equal
// values are then readings (chosen; SAE J1979 gives steps of 0.25 rpm).
const (
	coarseStep  = 4
	coarseAfter = 40
)

// repeats reports whether a reading is the last one again, because the ECU refreshes more
// slowly than it is asked: exactly the same value, from an ECU with fine steps.
func (in *intake) repeats(t, rpm, gap float64) bool {
	if rpm != in.lastV {
		in.changes++
		in.smallStep = min(in.smallStep, math.Abs(rpm-in.lastV))
		return false
	}
	coarse := in.changes >= coarseAfter && in.smallStep >= coarseStep
	return !coarse && t-in.newT <= gap
}

// noteGap closes the books up to a gap of the link and starts again after it.
func (d *Detector) noteGap(t float64, any bool) {
	in, ledger := &d.in, &d.books.ledger
	if !any {
		in.started = t
		if t > 0 {
			if d.stopw.stopped {
				ledger.add(d.stopw.open.Start, LinkGap, 0)
				ledger.add(seconds(t), EngineStopped, 0)
			}
			ledger.add(seconds(t), LinkGap, 0)
		}
		d.rule.lookT = t
		return
	}
	dt := t - in.lastT
	if dt <= d.th.gapOf(in.interval) || in.interval == 0 && dt <= slowestLink {
		in.learnRate(dt)
		return
	}
	if d.stopw.stopped && t-d.stopw.heard <= d.th.Gap {
		return // the ECU slept: the key is off, and nothing is unseen
	}
	d.spend(in.lastT, d.reason, &d.latest)
	ledger.add(seconds(t), LinkGap, 0)
	in.started = max(in.started, t-d.th.Settle+settleAfterGap)
	d.conditions.steadySince, d.state.SteadyFor = t, 0
	d.rule.restart(t)
	in.rpm.Clear()
}

// slowestLink is how long, s, the first two readings may be apart and still tell how often engine speed
// is read; longer is a gap (chosen).
const slowestLink = 3

// settleAfterGap is how long, s, a look waits after a gap of the link (chosen): the engine ran on.
const settleAfterGap = 1

// learnRate takes the time between two readings.
func (in *intake) learnRate(dt float64) {
	if in.interval == 0 {
		in.interval = dt
	}
	dt = min(dt, 3*in.interval)
	in.interval += 0.05 * (dt - in.interval)
	in.spread += 0.05 * (min(1, math.Abs(dt/in.interval-1)) - in.spread)
}
