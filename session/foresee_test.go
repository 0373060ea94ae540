package session

import (
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/simcar"
	"github.com/judder-obd/judder/simcar/drivetrain"
)

// Over time in which nothing was read there is no alarm, no swing and no limit: live, before the
// link is known to be lost, and in a replay anywhere in the gap.
func TestNothingIsShownOfUnseenTime(t *testing.T) {
	t.Parallel()
	fault := simcar.Fault{Kind: simcar.Silence, At: 105 * time.Second, For: 10 * time.Second}
	var before, early Snapshot
	live, path := trip{script: drivetrain.AlwaysShudders, length: 2 * time.Minute, faults: []simcar.Fault{fault}, during: func(l *Live) {
		time.Sleep(fault.At - 100*time.Millisecond)
		l.Snapshot(&before)
		time.Sleep(1300 * time.Millisecond)
		l.Snapshot(&early)
	}}.drive(t)
	if !(before.Detector.SwingRPM > 0) {
		t.Fatal("no swing before the silence: the test shows nothing")
	}
	if early.Link.State != obd.LinkCar {
		t.Fatalf("the link is known to be lost already: state %d", early.Link.State)
	}
	nothing := func(what string, s *Snapshot) {
		if d := s.Detector; d.Alarmed || d.SwingRPM > 0 || d.LimitRPM > 0 || d.SteadyFor != 0 {
			t.Errorf("%s: %+v", what, d)
		}
	}
	nothing("live", &early)
	losses := live.Result().Losses
	if len(losses) != 1 {
		t.Fatalf("losses %+v", losses)
	}
	r, err := OpenReplay(path, 1)
	if err != nil {
		t.Fatal(err)
	}
	r.Seek(losses[0].Start - 100*time.Millisecond)
	if s := stateOf(r); !(s.Detector.SwingRPM > 0) {
		t.Fatal("no swing before the gap: the test shows nothing")
	}
	for _, into := range []time.Duration{0, 200 * time.Millisecond, time.Second, 5 * time.Second} {
		r.Seek(losses[0].Start + into)
		s := stateOf(r)
		nothing(into.String()+" into the gap", &s)
		if s.Phase != LinkLost {
			t.Errorf("%v into the gap: phase %d", into, s.Phase)
		}
	}
}

// A replay that is sent to where something begins lists it.
func TestReplay_ListsWhatBegins(t *testing.T) {
	t.Parallel()
	r, err := OpenReplay(shuddering(t), 1)
	if err != nil {
		t.Fatal(err)
	}
	events := r.Whole().Events
	if len(events) == 0 {
		t.Fatal("no shudder found")
	}
	r.Seek(events[0].Start)
	if s := stateOf(r); len(s.Events) != 1 || s.Events[0].End != events[0].End {
		t.Errorf("at the start of the first shudder %+v is listed", s.Events)
	}
	r.Seek(events[0].Start - time.Millisecond)
	if s := stateOf(r); len(s.Events) != 0 {
		t.Errorf("before it %+v", s.Events)
	}
}
