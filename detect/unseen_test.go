package detect

import (
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
)

// reasonAtTime is the reason of the span that holds t.
func reasonAtTime(d *Detector, t time.Duration) Reason {
	for _, s := range d.Spans() {
		if s.Start <= t && t < s.End {
			return s.Reason
		}
	}
	return ReasonCount
}

// A link that is lost while the engine stands shows nothing of the engine: what was not seen is
// a gap, and no stop is longer, or of another kind, for it. Negative engine speed in a piece
// stands for silence: such a reading is dropped.
func TestSilenceIsNoEvidence(t *testing.T) {
	const silence = -1
	for _, c := range []struct {
		name string
		p    []piece
		kind StopKind
		end  time.Duration
		gap  time.Duration // a moment that nobody saw
	}{
		{"runs when the link is back", []piece{{20, 800, 0}, {10, 0, 0}, {30, silence, 0}, {10, 800, 0}}, StopUnseen, 30 * time.Second, 45 * time.Second},
		{"drives off when the link is back", []piece{{20, 800, 0}, {10, 0, 0}, {30, silence, 0}, {10, 1700, 60}}, StopUnseen, 30 * time.Second, 45 * time.Second},
		{"still stands when the link is back", []piece{{20, 800, 0}, {10, 0, 0}, {30, silence, 0}, {5, 0, 0}, {0.3, 250, 0}, {10, 800, 0}}, StopUnseen, 65 * time.Second, 45 * time.Second},
		{"a short gap, and a restart that was seen", []piece{{20, 800, 0}, {5, 0, 0}, {3, silence, 0}, {5, 0, 0}, {0.3, 250, 0}, {10, 800, 0}}, StopAutomatic, 33 * time.Second, 26 * time.Second},
		{"the computer slept: the key was off", []piece{{20, 800, 0}, {5, 0, 0}, {30, 16383.75, 0}, {5, 0, 0}, {1, 250, 0}, {10, 800, 0}}, StopOff, 60 * time.Second, -1},
		{"nothing follows", []piece{{20, 800, 0}, {10, 0, 0}, {30, silence, 0}}, StopUnseen, 30 * time.Second, 45 * time.Second},
		{"stopped when the link is back", []piece{{20, 800, 0}, {30, silence, 0}, {10, 0, 0}, {0.3, 250, 0}, {10, 800, 0}}, StopAutomatic, 60 * time.Second, 35 * time.Second},
	} {
		d := New()
		samples := pieces(c.p...)
		for _, s := range samples {
			if s.Value >= 0 {
				d.Push(s)
			}
		}
		d.Finish(samples[len(samples)-1].At)
		stops := d.Stops()
		if len(stops) != 1 || stops[0].Kind != c.kind || (stops[0].End-c.end).Abs() > 200*time.Millisecond {
			t.Errorf("%s: stops %v, want one, %v, that ends at %v", c.name, stops, c.kind, c.end)
		}
		if got := reasonAtTime(d, c.gap); c.gap >= 0 && got != LinkGap {
			t.Errorf("%s: %v was not seen, and is told as %v", c.name, c.gap, got)
		}
		if c.gap < 0 && reasonAtTime(d, 40*time.Second) != EngineStopped {
			t.Errorf("%s: a sleeping computer's time is told as %v", c.name, reasonAtTime(d, 40*time.Second))
		}
	}
}

// Before the first reading nothing is known either.
func TestNothingIsKnownBeforeTheFirstReading(t *testing.T) {
	d := New()
	for _, s := range pieces(piece{5, 0, 0}, piece{0.8, 200, 0}, piece{10, 900, 0}) {
		s.At += 30 * time.Second
		d.Push(s)
	}
	d.Finish(50 * time.Second)
	if s := d.Stops(); len(s) != 1 || s[0].Start != 30*time.Second {
		t.Errorf("stops %v, want one from 30 s", s)
	}
	if got := reasonAtTime(d, 10*time.Second); got != LinkGap {
		t.Errorf("time before the first reading is told as %v", got)
	}
}

// Behind a gap of the link the windows settle; only a start that was seen is told as one.
func TestAfterAGap(t *testing.T) {
	start := []piece{{5, 0, 0}, {0.8, 200, 0}, {60, 900, 0}}
	for _, c := range []struct {
		name string
		p    []piece
		want Reason
	}{
		{"a gap long after the start", append(start[:len(start):len(start)], piece{4, -1, 0}, piece{1, 900, 0}), Settling},
		{"a start", []piece{{5, 0, 0}, {0.8, 200, 0}, {1, 900, 0}}, Starting},
		{"a gap in a stop, then a start", append(start[:len(start):len(start)], piece{5, 0, 0}, piece{4, -1, 0}, piece{2, 0, 0}, piece{0.3, 250, 0}, piece{1, 900, 0}), Starting},
		{"a restart that nobody saw", append(start[:len(start):len(start)], piece{5, 0, 0}, piece{4, -1, 0}, piece{1, 900, 0}), Settling},
	} {
		d := New()
		for _, s := range pieces(c.p...) {
			if s.Value >= 0 {
				d.Push(s)
			}
		}
		if got := d.State().Reason; got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// Behind a gap the windows fill again within two seconds, and not at once: 5 s are for an engine that started.
func TestAfterAGap_Settles(t *testing.T) {
	d := New()
	for _, s := range pieces(piece{60, 1700, 70}, piece{4, -1, 70}, piece{4, 1700, 70}) {
		if s.Value >= 0 {
			d.Push(s)
		}
		since := s.At - 64*time.Second
		if got := d.State().Reason == Settling; since > 300*time.Millisecond && since < 700*time.Millisecond && !got || since > 2*time.Second && got {
			t.Errorf("%v behind the gap: %v", since, d.State().Reason)
		}
	}
}

// How long a throttle has been steady is known only from the last gap on.
func TestSteadinessBeginsAnew(t *testing.T) {
	d := New()
	for _, s := range pieces(piece{60, 1700, 70}, piece{4, -1, 70}, piece{2, 1700, 70}) {
		if s.At < 60*time.Second || s.At >= 64*time.Second {
			d.Push(s)
		}
	}
	if got := d.State().SteadyFor; got > 2*time.Second {
		t.Errorf("steady for %v, 2 s after a gap", got)
	}
}

// A throttle that moves is not steady, whatever else forbids to judge.
func TestNotSteadyOutsideTheBand(t *testing.T) {
	d := New()
	for i := range 600 {
		at := time.Duration(i) * 100 * time.Millisecond
		d.Push(pids.Sample{At: at, ECU: "7E8", Signal: pids.RPM, Value: float64(1500 + i%3)})
		d.Push(pids.Sample{At: at, ECU: "7E8", Signal: pids.VSS, Value: 20})
		d.Push(pids.Sample{At: at, ECU: "7E8", Signal: pids.TP, Value: float64(15 + i%40)})
	}
	if s := d.State(); s.SteadyFor > time.Second || s.Reason != OutsideBand {
		t.Errorf("steady for %v, %v", s.SteadyFor, s.Reason)
	}
}
