package detect

import (
	"testing"
	"time"

	"github.com/judder-obd/judder/detect/series"
	"github.com/judder-obd/judder/pids"
)

// A recording that begins in a cruise has never seen the throttle closed; its lowest reading
// is no closed throttle, and a burst is found (made-up signal, its answer known by formula).
func TestDriveThatBeginsInACruise(t *testing.T) {
	var samples []pids.Sample
	for _, s := range cruise(70, 10, burst(50, 55, 1.9, 100)) {
		if s.At > 11*time.Second {
			samples = append(samples, s)
		}
	}
	d := run(samples)
	if len(d.Events()) != 1 {
		t.Errorf("events %+v", d.Events())
	}
	for _, s := range d.Spans() {
		if s.Reason == ClosedThrottle {
			t.Errorf("throttle called closed from %v to %v", s.Start, s.End)
		}
	}
}

// Once the car has stood, the lowest reading is that of demand at rest.
func TestClosedThrottleIsLearntStanding(t *testing.T) {
	th := &standard
	r := newConditions()
	for i := range 20 {
		at := float64(i) / 5
		r.speed.Add(series.Reading{T: at, V: 60})
		r.noteRest(series.Reading{T: at, V: 60}, th)
	}
	if r.restSeen {
		t.Error("a steady speed taught where the throttle is closed")
	}
	at := 4.0
	for _, v := range []float64{60, 0, 60, 59} { // one zero of a faulty link
		r.speed.Add(series.Reading{T: at, V: v})
		r.noteRest(series.Reading{T: at, V: v}, th)
		at += 0.2
	}
	if r.restSeen {
		t.Error("a single zero taught where the throttle is closed")
	}
	for range 12 {
		at += 0.2
		r.speed.Add(series.Reading{T: at, V: 2})
		r.noteRest(series.Reading{T: at, V: 2}, th)
	}
	if !r.restSeen {
		t.Error("a standing car taught nothing")
	}
}

// While the throttle is closed, every look says so: the readings are not scarce.
func TestMaskDoesNotFlicker(t *testing.T) {
	samples := cruise(60, 10, func(float64) float64 { return 0 })
	for i := range samples {
		if samples[i].Signal == pids.TP && samples[i].At > 40*time.Second {
			samples[i].Value = 14 // closed
		}
	}
	for _, s := range run(samples).Spans() {
		if s.Reason == TooFewReadings && s.Start > 10*time.Second {
			t.Errorf("too few readings from %v to %v", s.Start, s.End)
		}
	}
}

// An engine speed that is read again and again and never changes, as an idle held to the
// quarter of a turn, is no gap of the link: readings came.
func TestConstantIsNoGap(t *testing.T) {
	d := New()
	for i := range 60 * 30 {
		at := time.Duration(i) * time.Second / 30
		d.Push(pids.Sample{At: at, Signal: pids.RPM, Value: 700})
		d.Push(pids.Sample{At: at, Signal: pids.VSS, Value: 0})
		d.Push(pids.Sample{At: at, Signal: pids.TP, Value: 14.5})
	}
	d.Finish(time.Minute)
	for _, s := range d.Spans() {
		if s.Reason == LinkGap && s.End-s.Start > time.Second {
			t.Errorf("%v to %v: %v", s.Start, s.End, s.Reason)
		}
	}
}
