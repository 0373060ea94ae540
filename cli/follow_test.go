package cli

import (
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// Engine speed that stays away while the link is up is reported once each time, with its reason.
func TestFollow_Unread(t *testing.T) {
	var said strings.Builder
	e := &env{err: prose.NewWriter(&said)}
	var f followed
	s := session.Snapshot{Phase: session.Running}
	gap := detect.State{Reason: detect.LinkGap}
	for i, c := range []struct {
		state  detect.State
		unread session.Unread
		check  bool
	}{
		{detect.State{}, 0, false}, {gap, session.UnreadSilent, false}, {gap, session.UnreadWaits, false}, {gap, session.UnreadWaits, false},
		{detect.State{}, session.UnreadSilent, false}, {gap, session.UnreadOthers, false}, {gap, session.UnreadOthers, false},
		{detect.State{}, 0, false}, {gap, session.UnreadOthers, true},
	} {
		s.Now = time.Duration(i) * time.Second
		s.Detector, s.Unread, s.Check.Running = c.state, c.unread, c.check
		f.report(e, &s)
	}
	const want = "judder: 0:00:02  engine speed is not read: the car asks to wait\n" +
		"judder: 0:00:05  the car gives no engine speed; other readings come\n"
	if said.String() != want {
		t.Errorf("said\n%swant\n%s", said.String(), want)
	}
}

// Trouble with the recording is reported once, and each event and stop once.
func TestFollow_TellsEachThingOnce(t *testing.T) {
	var said strings.Builder
	e := &env{err: prose.NewWriter(&said)}
	var f followed
	var s session.Snapshot
	for range 3 {
		s.Trouble = "no space left on device"
		s.Link.Text = "the car answers\x1b[2J"
		f.report(e, &s)
	}
	for _, want := range []string{"no space left", "the car answers"} {
		if n := strings.Count(said.String(), want); n != 1 {
			t.Errorf("%q said %d times", want, n)
		}
	}
	if strings.Contains(said.String(), "\x1b") {
		t.Errorf("control character in %q", said.String())
	}
}

// When a shudder begins, the swing seen by then is reported; when it is over, the whole swing, in the
// figures of the review.
func TestFollow_ShudderToItsEnd(t *testing.T) {
	var said strings.Builder
	e := &env{err: prose.NewWriter(&said)}
	var f followed
	first := detect.Event{Start: 22 * time.Second, End: 23 * time.Second, SwingRPM: 80, SpeedKMH: 46}
	var s session.Snapshot
	for s.Now = 23 * time.Second; s.Now < 60*time.Second; s.Now += 250 * time.Millisecond {
		s.Events = []detect.Event{first}
		if s.Now > 24*time.Second {
			s.Events[0].End, s.Events[0].SwingRPM = 24800*time.Millisecond, 114
		}
		if s.Now > 50*time.Second {
			s.Events = append(s.Events, detect.Event{Start: 49 * time.Second, End: 51 * time.Second, SwingRPM: 90, SpeedKMH: 60})
		}
		if s.Now == 52*time.Second {
			s.Phase = session.Finished
		}
		f.report(e, &s)
	}
	const want = "judder: 0:00:22  shudder begins, 80 rpm peak to peak so far, at 46 km/h\n" +
		"judder: 0:00:24  shudder over: 114 rpm peak to peak, 2.8 s from 0:00:22\n" +
		"judder: 0:00:49  shudder begins, 90 rpm peak to peak so far, at 60 km/h\n" +
		"judder: 0:00:51  shudder over: 90 rpm peak to peak, 2.0 s from 0:00:49\n"
	if said.String() != want {
		t.Errorf("said\n%swant\n%s", said.String(), want)
	}
}

// An engine that is off since the beginning is reported once it is known whether the car rolls.
func TestFollow_RollingSinceTheBeginning(t *testing.T) {
	var said strings.Builder
	e := &env{err: prose.NewWriter(&said)}
	var f followed
	s := session.Snapshot{Stops: []detect.Stop{{Start: time.Second, Kind: detect.StopOff, FromStart: true}}}
	for s.Now = time.Second; s.Now < 10*time.Second; s.Now += 250 * time.Millisecond {
		if s.Now > 2*time.Second {
			s.Stops[0].Kind = detect.StopRolling
		}
		f.report(e, &s)
	}
	if want := "judder: 0:00:01  engine off since the beginning, car rolling\n"; said.String() != want {
		t.Errorf("said %q, want %q", said.String(), want)
	}
}

// A lost link is reported in the words of the screen, once while the port is opened again and again.
func TestFollow_LostLink(t *testing.T) {
	var said strings.Builder
	e := &env{err: prose.NewWriter(&said)}
	var f followed
	s := session.Snapshot{Phase: session.LinkLost}
	s.Link.Reason.Cause = obd.CauseSilent
	for _, text := range []string{"the adapter went silent; waiting for it", "opening /dev/ttyUSB0", "read /dev/ttyUSB0: input/output error", "opening /dev/ttyUSB0"} {
		s.Link.Text = text
		f.report(e, &s)
	}
	if want := "judder: 0:00:00  link lost: " + s.Link.Words() + "\n"; said.String() != want || !strings.Contains(want, session.TryingAgain) {
		t.Errorf("said %q, want %q", said.String(), want)
	}
}
