package slip

import (
	"math"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/series"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
)

// Swing is a stretch in which converter slip swung while it should have been steady. It
// shows the clutch directly, and is stronger evidence than any swing of engine speed.
type Swing struct {
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
	maxWindow       = 512 // readings at most
	sourceHold      = 5.0 // s, an ECU is heard until it is silent this long (chosen)
	pairWithin      = 0.3 // s; engine and turbine speed farther apart make no slip
)

// Watch judges slip where a vehicle profile has it, or turbine speed. It judges only the
// seconds in which engine speed may be judged.
type Watch struct {
	slip, wanted series.Track
	doubt        float64 // rpm, of apparent slip; 0 when slip is read
	engine       series.Reading
	lookT        float64
	running      int
	found        []Swing
	work         [maxWindow]series.Reading
}

// NewWatch returns a watch for one drive.
func NewWatch() *Watch {
	return &Watch{slip: series.NewTrack(maxWindow), wanted: series.NewTrack(64), lookT: math.Inf(-1), engine: series.Reading{T: math.Inf(-1)}}
}

// Push takes one sample with its role in the profile; engine speed comes with no role. why
// is the detector's reason at this moment.
func (w *Watch) Push(s pids.Sample, role vehicle.Role, why detect.Reason) {
	if math.IsNaN(s.Value) || math.IsInf(s.Value, 0) {
		return
	}
	r := series.Reading{T: s.At.Seconds(), V: s.Value}
	switch {
	case role == vehicle.RoleSlip:
		w.add(r, why)
	case role == vehicle.RoleWantedSlip:
		w.wanted.Add(r)
	case role == vehicle.RoleTurbineSpeed:
		if r.T-w.engine.T <= pairWithin {
			w.add(series.Reading{T: r.T, V: w.engine.V - r.V}, why)
		}
	case s.Signal == pids.RPM:
		w.engine = r
	}
}

// PushApparent takes an engine-speed reading as apparent slip; a is the apparent slip now. It
// counts only where the gear's ratio is known. Its limits are those of slip that was read,
// widened by its uncertainty: see look. Give a watch slip that was read or apparent slip, never
// both.
func (w *Watch) PushApparent(s pids.Sample, a ApparentSlip, why detect.Reason) {
	if s.Signal != pids.RPM || !a.GearKnown || math.IsNaN(s.Value) || math.IsInf(s.Value, 0) {
		return
	}
	w.doubt = a.PlusMinusRPM
	w.add(series.Reading{T: s.At.Seconds(), V: s.Value - a.LockedRPM}, why)
}

// Now is the latest slip, rpm; ok is false when there is none.
func (w *Watch) Now() (at time.Duration, rpm float64, ok bool) {
	r, ok := w.slip.Last()
	return series.Duration(r.T), r.V, ok
}

// Found returns the stretches in which slip swung, oldest first; the last may still grow.
func (w *Watch) Found() []Swing { return w.found }

func (w *Watch) add(r series.Reading, why detect.Reason) {
	if last, any := w.slip.Last(); any && r.T <= last.T {
		return
	}
	if why != detect.Judged && why != detect.FloorNotLearnt && why != detect.LoadNotLearnt {
		w.slip.Clear() // the window begins where the steady stretch begins
		w.running = 0
		return
	}
	w.slip.Add(r)
	if r.T-w.lookT >= slipEvery {
		w.lookT = r.T
		w.look(r.T)
	}
}

// look weighs the window that ends at t.
func (w *Watch) look(t float64) {
	win := w.slip.LastOf(maxWindow, t-slipWindow)
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
func reach(flat []series.Reading, far float64) (first, last float64) {
	first, last = flat[len(flat)-1].T, flat[0].T
	for _, r := range flat {
		if math.Abs(r.V) >= far {
			first, last = min(first, r.T), r.T
		}
	}
	return first, last
}

// wantedSteady reports whether the controller wanted one slip over the window; true when the
// wanted slip is not read.
func (w *Watch) wantedSteady(t float64) bool {
	low, high, ok := w.wanted.Spread(t - slipWindow)
	return !ok || high-low <= slipWantedRange
}

// book opens a stretch or widens the last one.
func (w *Watch) book(first, last, swing, mean float64, readings int) {
	n := len(w.found)
	if n == 0 || first-w.found[n-1].End.Seconds() > slipJoin {
		wanted := math.NaN()
		if r, ok := w.wanted.Last(); ok {
			wanted = r.V
		}
		w.found = append(w.found, Swing{Start: series.Duration(first), WantedRPM: wanted, ApparentRPM: w.doubt})
		n++
	}
	v := &w.found[n-1]
	v.End = max(v.End, series.Duration(last))
	v.SwingRPM, v.MeanRPM = max(v.SwingRPM, swing), mean
	v.Readings = max(v.Readings, len(w.slip.Since(v.Start.Seconds())), readings)
}
