package detect

import (
	"math"
	"time"

	"judder/pids"
	"judder/pids/vehicle"
)

// SlipSwing is a stretch in which converter slip swung while it should have been steady. It
// shows the clutch directly, and is stronger evidence than any swing of engine speed.
type SlipSwing struct {
	Start, End time.Duration
	SwingRPM   float64 // slip, peak to peak
	MeanRPM    float64 // slip, mean over the stretch
	WantedRPM  float64 // slip the controller aimed at; NaN when not read
	Readings   int     // slip readings used
	// ApparentRPM is the uncertainty of slip that was computed from engine speed, road speed and
	// the ratio of the gear (about two standard deviations); 0 when slip was read.
	ApparentRPM float64
}

// The slip watch's thresholds.
const (
	// slipLimit is rpm peak to peak: makers' own tests call a clutch locked within -20 to
	// +20 rpm (published service information on P0742, 1996 and 2005), so that a swing within
	// 40 is no finding; bucking cars show up to about 145 (common practice, no source).
	slipLimit = 40.0
	// slipOpen is rpm: more mean slip than this at a light cruise is a clutch that is open,
	// whose slip follows the torque (85 to 170 rpm, computed from a public converter table).
	slipOpen = 150.0
	// slipWantedRange is rpm: a wanted slip that moves by more is not wanted steady (common
	// practice, no source).
	slipWantedRange = 10.0
	slipWindow      = 3.0 // s, as for engine speed
	slipReadings    = 8   // least in a window, as for engine speed
	slipEvery       = 0.2 // s between two looks
	slipRunning     = 2   // looks over the limit in a row
	slipJoin        = 2.5 // s; stretches nearer than this are one
	slipEdge        = 0.3 // of a swing: readings so far from the line belong to it
	pairWithin      = 0.3 // s; engine and turbine speed farther apart make no slip
)

// SlipWatch judges slip where a vehicle profile has it, or turbine speed. It judges only the
// seconds in which engine speed may be judged.
type SlipWatch struct {
	slip, wanted track
	doubt        float64 // rpm, of apparent slip; 0 when slip is read
	engine       reading
	lookT        float64
	running      int
	found        []SlipSwing
	work         [maxWindow]reading
}

// NewSlipWatch returns a watch for one drive.
func NewSlipWatch() *SlipWatch {
	return &SlipWatch{slip: newTrack(maxWindow), wanted: newTrack(64), lookT: math.Inf(-1), engine: reading{t: math.Inf(-1)}}
}

// Push takes one sample with its role in the profile; engine speed comes with no role. why
// is the detector's reason at this moment.
func (w *SlipWatch) Push(s pids.Sample, role vehicle.Role, why Reason) {
	if math.IsNaN(s.Value) || math.IsInf(s.Value, 0) {
		return
	}
	r := reading{s.At.Seconds(), s.Value}
	switch {
	case role == vehicle.RoleSlip:
		w.add(r, why)
	case role == vehicle.RoleWantedSlip:
		w.wanted.add(r)
	case role == vehicle.RoleTurbineSpeed:
		if r.t-w.engine.t <= pairWithin {
			w.add(reading{r.t, w.engine.v - r.v}, why)
		}
	case s.Signal == pids.RPM:
		w.engine = r
	}
}

// PushApparent takes an engine-speed reading as apparent slip; a is the apparent slip now. It
// counts only where the gear's ratio is known. Its limits are those of slip that was read,
// widened by its uncertainty: see look. Give a watch slip that was read or apparent slip, never
// both.
func (w *SlipWatch) PushApparent(s pids.Sample, a ApparentSlip, why Reason) {
	if s.Signal != pids.RPM || !a.GearKnown || math.IsNaN(s.Value) || math.IsInf(s.Value, 0) {
		return
	}
	w.doubt = a.PlusMinusRPM
	w.add(reading{s.At.Seconds(), s.Value - a.LockedRPM}, why)
}

// Now is the latest slip, rpm; ok is false when there is none.
func (w *SlipWatch) Now() (at time.Duration, rpm float64, ok bool) {
	r, ok := w.slip.last()
	return seconds(r.t), r.v, ok
}

// Found returns the stretches in which slip swung, oldest first; the last may still grow.
func (w *SlipWatch) Found() []SlipSwing { return w.found }

func (w *SlipWatch) add(r reading, why Reason) {
	if last, any := w.slip.last(); any && r.t <= last.t {
		return
	}
	if why != Judged && why != FloorNotLearnt {
		w.slip.clear() // the window begins where the steady stretch begins
		w.running = 0
		return
	}
	w.slip.add(r)
	if r.t-w.lookT >= slipEvery {
		w.lookT = r.t
		w.look(r.t)
	}
}

// look weighs the window that ends at t.
func (w *SlipWatch) look(t float64) {
	win := w.slip.since(t - slipWindow)
	if len(win) < slipReadings || !w.wantedSteady(t) {
		w.running = 0
		return
	}
	l := fitLine(win)
	k := 4
	if len(win) < 12 {
		k = 3
	}
	flat := detrend(w.work[:], win, l)
	swing := kthSwing(flat, k)
	// Apparent slip of a locked clutch swings with engine speed, whatever the cause. It is about
	// the clutch only where it is larger than its uncertainty.
	if swing < slipLimit+2*w.doubt || math.Abs(l.mean) > slipOpen || w.doubt > 0 && l.mean < w.doubt {
		w.running = 0
		return
	}
	if w.running++; w.running < slipRunning {
		return
	}
	first, last := reach(flat, slipEdge*swing)
	w.book(first, last, swing, l.mean, len(win))
}

// reach returns the times of the first and the last reading at least so far from the line.
func reach(flat []reading, far float64) (first, last float64) {
	first, last = flat[len(flat)-1].t, flat[0].t
	for _, r := range flat {
		if math.Abs(r.v) >= far {
			first, last = min(first, r.t), r.t
		}
	}
	return first, last
}

// wantedSteady reports whether the controller wanted one slip over the window; true when the
// wanted slip is not read.
func (w *SlipWatch) wantedSteady(t float64) bool {
	low, high, ok := w.wanted.spread(t - slipWindow)
	return !ok || high-low <= slipWantedRange
}

// book opens a stretch or widens the last one.
func (w *SlipWatch) book(first, last, swing, mean float64, readings int) {
	n := len(w.found)
	if n == 0 || first-w.found[n-1].End.Seconds() > slipJoin {
		wanted := math.NaN()
		if r, ok := w.wanted.last(); ok {
			wanted = r.v
		}
		w.found = append(w.found, SlipSwing{Start: seconds(first), WantedRPM: wanted, ApparentRPM: w.doubt})
		n++
	}
	v := &w.found[n-1]
	v.End = max(v.End, seconds(last))
	v.SwingRPM, v.MeanRPM = max(v.SwingRPM, swing), mean
	v.Readings = max(v.Readings, len(w.slip.since(v.Start.Seconds())), readings)
}
