package slip

import (
	"math"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/series"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
)

// Driveline is what a vehicle profile has about the driveline; what is not known is zero.
type Driveline struct {
	FinalDrive float64
	TyreM      float64   // how far the car rolls for one turn of a wheel, m
	Gears      []float64 // first gear first
}

// rpmPerKMH is the engine speed for each km/h at a gear ratio of 1, the clutch locked:
// 1 km/h is 1000/60 m a minute. 0 when not known.
func (d Driveline) rpmPerKMH() float64 {
	if d.FinalDrive <= 0 || d.TyreM <= 0 {
		return 0
	}
	return d.FinalDrive * 1000 / 60 / d.TyreM
}

// ApparentSlip is engine speed less engine speed with the clutch locked. It is an estimate: road
// speed comes in whole km/h, and the locked ratio is the lowest that was seen. A clutch that slips
// steadily all the time counts as locked, unless the profile's tyre and final drive differ from it by
// more than their tolerance. Slip swings are taken from it only where the gear is read: a locked
// clutch behind a misfiring engine swings too.
type ApparentSlip struct {
	At           time.Duration
	SlipRPM      float64 // NaN when not known
	PlusMinusRPM float64 // about two standard deviations; NaN when not known
	LockedRPM    float64 // engine speed with the clutch locked; NaN when not known
	GearKnown    bool    // the gear's ratio was read, not computed from engine and road speed
}

// Sharp reports whether the slip is larger than its uncertainty; only then is it used.
func (a ApparentSlip) Sharp() bool { return a.SlipRPM > a.PlusMinusRPM }

// Stretch is a stretch in which apparent slip was sharper than its uncertainty.
type Stretch struct {
	Start, End   time.Duration
	MeanRPM      float64
	HighRPM      float64
	PlusMinusRPM float64
	GearKnown    bool
	looks        int
}

// LockedRatio is a ratio that the car was seen to hold: the lowest of a gear.
type LockedRatio struct {
	RPMPerKMH float64
	Held      time.Duration
}

// Apparent learns the locked ratios of a car from steady driving and estimates the slip. Its
// memory does not grow with the drive, except for the stretches found.
type Apparent struct {
	line          Driveline
	engine, speed series.Source
	blocks        [slipBlocks]block
	used          int // blocks of the steady stretch so far, the newest last
	lastKMH       float64
	ratio         float64 // of the gear, as read; 0 when not known
	ratioT        float64
	ratioRead     bool // $A4 was read; a gear's number is then not needed
	byGear        ratios
	bySpeed       ratios
	now           ApparentSlip
	open          Stretch // the latest, too short to count at first
	found         []Stretch
}

// The window is made of blocks, so that a sample costs a few sums.
const (
	slipBlock  = 0.5 // s
	slipBlocks = 6   // 3 s, as for engine speed
)

// What is known of apparent slip.
const (
	blocksLeast   = 4   // of a window: 2 s
	stoppedRPM    = 60  // below it the crankshaft does not turn
	rpmLeast      = 6   // readings of engine speed in it
	speedLeast    = 2   // readings of road speed in it
	slowestKMH    = 20  // below it, half a km/h is 2.5 %
	gearFresh     = 3.5 // s for which a gear that was read holds; it is asked once a second
	gearMoved     = 0.005
	learnScatter  = 0.015 // of engine speed, s.d. over the window: more is swinging, not holding
	learnSpeed    = 3.0   // km/h, range over the window
	openMost      = 0.25  // ln: slip of more than a quarter is no cruise
	speedRounding = 0.29  // km/h r.m.s.: a whole number is uniform within ±0.5, so 1/√12
	roundingMost  = 3     // changes of the whole number that count as more precision
	speedLag      = 0.2   // s by which road speed may lag (common practice, no source)
	ratioFloor    = 0.002 // of engine speed: what rounding does to a learnt ratio at another speed
	ratioDoubt    = 0.02  // s.d. of a profile's ratio: half of vehicle.TyreTolerance
	sharpLooks    = 3     // in a row that make a stretch
	foundMost     = 1000  // stretches kept
)

// block is what half a second of readings add up to.
type block struct {
	n              int // block number since the start of the drive
	rpms, speeds   int
	rpm, rpm2, kmh float64 // sums
	low, high      float64 // of road speed
	changes        int
}

// NewApparent returns one for a drive.
func NewApparent(line Driveline) *Apparent {
	a := &Apparent{line: line}
	a.unknown(0)
	return a
}

func (a *Apparent) unknown(t float64) {
	a.now = ApparentSlip{At: series.Duration(t), SlipRPM: math.NaN(), PlusMinusRPM: math.NaN(), LockedRPM: math.NaN()}
}

// Push takes one sample with its role in the profile. why is the detector's reason at this
// moment: only steady driving counts. Push reports whether Now has changed.
func (a *Apparent) Push(s pids.Sample, role vehicle.Role, why detect.Reason) (looked bool) {
	if math.IsNaN(s.Value) || math.IsInf(s.Value, 0) {
		return false
	}
	t := s.At.Seconds()
	switch {
	case s.Signal == pids.RPM:
		if use, _ := a.engine.Accept(s, t, sourceHold); !use {
			return false
		}
		looked = a.turn(t, why)
		if b := a.block(); b != nil {
			b.rpms++
			b.rpm += s.Value
			b.rpm2 += s.Value * s.Value
		}
	case s.Signal == pids.VSS:
		if use, _ := a.speed.Accept(s, t, sourceHold); !use {
			return false
		}
		looked = a.turn(t, why)
		a.roadSpeed(s.Value)
	case s.Signal == pids.GearRat:
		a.ratioRead = true
		a.gear(t, s.Value)
	case s.Signal == pids.GearAct || role == vehicle.RoleGear:
		if n := int(s.Value); !a.ratioRead && n >= 1 && n <= len(a.line.Gears) {
			a.gear(t, a.line.Gears[n-1])
		}
	}
	return looked
}

// Now is the apparent slip at the last look, two a second; NaN where it is not known.
func (a *Apparent) Now() ApparentSlip { return a.now }

// Found returns the stretches in which apparent slip was sharp, oldest first.
func (a *Apparent) Found() []Stretch { return a.found }

func (a *Apparent) gear(t, ratio float64) {
	if math.Abs(ratio-a.ratio) > gearMoved*a.ratio {
		a.used = 0
	}
	a.ratio, a.ratioT = ratio, t
}

func (a *Apparent) block() *block {
	if a.used == 0 {
		return nil
	}
	return &a.blocks[a.used-1]
}

func (a *Apparent) roadSpeed(kmh float64) {
	b := a.block()
	if b == nil {
		a.lastKMH = kmh
		return
	}
	if b.speeds == 0 {
		b.low, b.high = kmh, kmh
	}
	b.speeds++
	b.kmh += kmh
	b.low, b.high = min(b.low, kmh), max(b.high, kmh)
	if kmh != a.lastKMH {
		b.changes++
	}
	a.lastKMH = kmh
}

// turn opens the block of t, after a look at those before it.
func (a *Apparent) turn(t float64, why detect.Reason) (looked bool) {
	if why != detect.Judged && why != detect.FloorNotLearnt && why != detect.LoadNotLearnt {
		looked = a.used > 0
		a.used = 0
		if looked {
			a.unknown(t)
		}
		return looked
	}
	n := int(t / slipBlock)
	b := a.block()
	switch {
	case b == nil || n > b.n+2 || n < b.n: // begins, or after a gap
		a.used = 1
	case n == b.n:
		return false
	default:
		a.look(t)
		looked = true
		if a.used == slipBlocks {
			copy(a.blocks[:], a.blocks[1:])
			a.used--
		}
		a.used++
	}
	a.blocks[a.used-1] = block{n: n}
	return looked
}

// steadyWindow is what the blocks add up to.
type steadyWindow struct {
	rpm, scatter, kmh float64
	rpms              float64
	low, high         float64
	changes, fresh    float64
	seconds, x        float64
}

func (a *Apparent) window() (w steadyWindow, ok bool) {
	var rpm2 float64
	var speeds int
	w.low, w.high = math.Inf(1), math.Inf(-1)
	for i := range a.blocks[:a.used] {
		b := &a.blocks[i]
		w.rpms += float64(b.rpms)
		w.rpm += b.rpm
		rpm2 += b.rpm2
		w.kmh += b.kmh
		speeds += b.speeds
		w.changes += float64(b.changes)
		if b.speeds > 0 {
			w.low, w.high = min(w.low, b.low), max(w.high, b.high)
		}
	}
	if a.used < blocksLeast || w.rpms < rpmLeast || speeds < speedLeast {
		return w, false
	}
	w.rpm /= w.rpms
	w.kmh /= float64(speeds)
	w.scatter = math.Sqrt(max(rpm2/w.rpms-w.rpm*w.rpm, 0))
	w.seconds = float64(a.used) * slipBlock
	w.fresh = float64(a.blocks[a.used-1].changes)
	if a.used == blocksLeast {
		w.fresh++ // the first look of a stretch
	}
	if w.kmh < slowestKMH || w.rpm < stoppedRPM {
		return w, false
	}
	w.x = math.Log(w.rpm / w.kmh)
	return w, true
}

// look learns from the window that ends at t and estimates the slip in it.
func (a *Apparent) look(t float64) {
	a.unknown(t)
	w, ok := a.window()
	if !ok {
		return
	}
	known := t-a.ratioT <= gearFresh && a.ratio >= 0.2 && a.ratio <= 20
	key := w.x
	if known {
		key -= math.Log(a.ratio)
	}
	if w.scatter < learnScatter*w.rpm && w.high-w.low <= learnSpeed {
		a.bySpeed.add(w.x, slipBlock, w.fresh, w.kmh)
		if known {
			a.byGear.add(key, slipBlock, w.fresh, w.kmh)
		}
	}
	var p peak
	doubt := 0.0
	if known {
		p, doubt, ok = a.lockedOfGear(key)
	} else {
		p, ok = a.bySpeed.under(key)
	}
	if ok {
		a.estimate(t, &w, p.x-key, max(doubt, p.doubt()), known)
	}
}

// doubt is the standard deviation of a ratio that was learnt, as a share.
func (p *peak) doubt() float64 {
	if p.held == 0 {
		return 0
	}
	return math.Hypot(ratioFloor, speedRounding/p.kmh/math.Sqrt(max(p.n, 1)))
}

// lockedOfGear is the locked ratio where the gear is known: one for all gears. The profile's
// driveline gives it until it is learnt, and where a car never locks.
func (a *Apparent) lockedOfGear(key float64) (p peak, doubt float64, ok bool) {
	p, ok = a.byGear.lowest(key-openMost, key+belowLocked)
	profile := a.line.rpmPerKMH()
	if profile == 0 {
		return p, 0, ok
	}
	if x := math.Log(profile); !ok || math.Abs(p.x-x) > vehicle.TyreTolerance {
		return peak{x: x}, ratioDoubt, key-x < openMost
	}
	return p, 0, true
}

// estimate books the slip of a window. The locked ratio is e^fall times the ratio of the window;
// its standard deviation, as a share, is doubt.
func (a *Apparent) estimate(t float64, w *steadyWindow, fall, doubt float64, gearKnown bool) {
	locked := w.rpm * math.Exp(fall)
	rounding := speedRounding / math.Sqrt(1+min(w.changes, roundingMost))
	lag := speedLag * (w.high - w.low) / w.seconds
	share := math.Hypot(math.Hypot(rounding, lag)/w.kmh, doubt)
	sd := math.Hypot(share*locked, w.scatter/math.Sqrt(w.rpms))
	a.now = ApparentSlip{At: series.Duration(t), SlipRPM: w.rpm - locked, PlusMinusRPM: 2 * sd, LockedRPM: locked, GearKnown: gearKnown}
	a.book(w.seconds)
}

// book opens a stretch of sharp slip or widens the last one.
func (a *Apparent) book(window float64) {
	if !a.now.Sharp() {
		return
	}
	f := &a.open
	if f.looks == 0 || a.now.At.Seconds()-f.End.Seconds() > slipJoin || f.GearKnown != a.now.GearKnown {
		*f = Stretch{Start: max(a.now.At-series.Duration(window), 0), GearKnown: a.now.GearKnown}
	}
	f.looks++
	f.End = a.now.At
	f.MeanRPM += (a.now.SlipRPM - f.MeanRPM) / float64(f.looks)
	f.PlusMinusRPM += (a.now.PlusMinusRPM - f.PlusMinusRPM) / float64(f.looks)
	f.HighRPM = max(f.HighRPM, a.now.SlipRPM)
	switch n := len(a.found); {
	case f.looks == sharpLooks && n < foundMost:
		a.found = append(a.found, *f)
	case f.looks > sharpLooks && a.found[n-1].Start == f.Start:
		a.found[n-1] = *f
	}
}

// Locked returns the ratios the car was seen to hold for a while, the lowest of each gear,
// lowest first; with the gear known or not.
func (a *Apparent) Locked() []LockedRatio {
	var all []LockedRatio
	last := math.Inf(-1)
	from, to := a.bySpeed.span(ratioLow, ratioLow+ratioBin*ratioBins)
	least := a.bySpeed.least(from, to)
	for i := from; i <= to; i++ {
		if !a.bySpeed.isPeak(i, least) {
			continue
		}
		p := a.bySpeed.at(i)
		if p.x-last < nextGear {
			continue
		}
		last = p.x
		all = append(all, LockedRatio{RPMPerKMH: math.Exp(p.x), Held: series.Duration(p.held)})
	}
	return all
}
