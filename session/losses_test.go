package session

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/drive"
	"github.com/judder-obd/judder/simcar"
	"github.com/judder-obd/judder/simcar/drivetrain"
)

// Each way in which a link is lost makes one row, from the last reading to the first one after,
// with its cause; and while it lasts nothing of an earlier moment is on the board.
func TestLosses(t *testing.T) {
	for name, c := range map[string]struct {
		fault simcar.Fault
		cause obd.Cause
		look  time.Duration // behind the fault's beginning: the middle of the loss
		least time.Duration // a pipe is there again as soon as it is opened again
		most  time.Duration
	}{
		"unplugged":    {simcar.Fault{Kind: simcar.LineDrop, At: 40 * time.Second, For: 10 * time.Second}, obd.CauseUnplugged, 300 * time.Millisecond, time.Second, 4 * time.Second},
		"silent":       {simcar.Fault{Kind: simcar.Silence, At: 40 * time.Second, For: 10 * time.Second}, obd.CauseSilent, 4 * time.Second, 5 * time.Second, 12 * time.Second},
		"ignition off": {simcar.Fault{Kind: simcar.IgnitionOff, At: 40 * time.Second, For: 10 * time.Second}, obd.CauseCarSilent, 4 * time.Second, 10 * time.Second, 16 * time.Second},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var before, while, back, later Snapshot
			live, path := trip{script: drivetrain.RoadTest, length: 80 * time.Second, faults: []simcar.Fault{c.fault}, during: func(l *Live) {
				time.Sleep(39 * time.Second)
				l.Snapshot(&before)
				time.Sleep(time.Second + c.look)
				l.Snapshot(&while)
				for back.Phase != Running {
					time.Sleep(20 * time.Millisecond)
					l.Snapshot(&back)
				}
				time.Sleep(3 * time.Second)
				l.Snapshot(&later)
			}}.drive(t)
			losses := live.Result().Losses
			if len(losses) != 1 || losses[0].Reason.Cause != c.cause || losses[0].Open || losses[0].Reason.Text == "" {
				t.Fatalf("losses %+v", losses)
			}
			l := losses[0]
			if l.Start < c.fault.At-time.Second || l.Start > c.fault.At+time.Second || l.End < l.Start+c.least || l.End > l.Start+c.most {
				t.Errorf("lost from %v to %v", l.Start, l.End)
			}
			if while.Phase != LinkLost || while.Link.Reason.Cause != c.cause || !strings.Contains(while.Link.Words(), TryingAgain) {
				t.Errorf("phase %d, words %q", while.Phase, while.Link.Words())
			}
			blank(t, &while)
			if rate := before.Lanes[0].Rate; back.Lanes[0].Rate > 1.2*rate || later.Lanes[0].Rate < 0.5*rate || later.Lanes[0].Rate > 1.2*rate {
				t.Errorf("%.1f readings a second before, %.1f at once after, %.1f then", rate, back.Lanes[0].Rate, later.Lanes[0].Rate)
			}
			if later.Detector.SteadyFor > later.Now-l.End || back.Link.Reason != (LinkReason{}) {
				t.Errorf("steady for %v, %v after; still shown: %+v", later.Detector.SteadyFor, later.Now-l.End, back.Link.Reason)
			}
			replay, err := OpenReplay(path, 1)
			if err != nil {
				t.Fatal(err)
			}
			replay.Seek(while.Now)
			var again Snapshot
			replay.Snapshot(&again)
			blank(t, &again)
			if len(again.Losses) != 1 || !again.Losses[0].Open || len(again.Replay.Losses) != 1 || again.Phase != LinkLost || again.Losses[0].Reason != l.Reason {
				t.Errorf("replay: phase %d, losses %+v, in the whole %+v", again.Phase, again.Losses, again.Replay.Losses)
			}
		})
	}
}

func blank(t *testing.T, s *Snapshot) {
	t.Helper()
	for _, l := range s.Lanes {
		if !math.IsNaN(l.Value) || l.Rate != 0 || !math.IsNaN(l.History[len(l.History)-1].Value) {
			t.Errorf("%s is at %v, %v a second, while the link is lost", l.Signal, l.Value, l.Rate)
		}
	}
	d := &s.Detector
	if !math.IsNaN(d.SwingRPM) || !math.IsNaN(d.LimitRPM) || d.Alarmed || !math.IsNaN(d.SmallestRPM) || d.SteadyFor != 0 || d.Rate != 0 || d.Reason != detect.LinkGap || !math.IsNaN(s.Apparent.SlipRPM) {
		t.Errorf("the detector shows another moment: %+v, slip %v", d, s.Apparent.SlipRPM)
	}
}

// The first reading ends "connecting", whatever of the adapter is still being set up.
func TestConnectingEndsWithTheFirstReading(t *testing.T) {
	trip{script: drivetrain.RoadTest, length: 10 * time.Second, during: func(l *Live) {
		var s Snapshot
		for s.Phase != Running {
			if len(s.Lanes) > 0 {
				t.Errorf("connecting, and %s is there", s.Lanes[0].Signal)
			}
			time.Sleep(5 * time.Millisecond)
			l.Snapshot(&s)
		}
		if len(s.Lanes) == 0 {
			t.Error("running without a reading")
		}
	}}.drive(t)
}

// Every cause that explains anything has words, and they fit the narrowest window, which is 60
// cells wide with 4 of margin.
func TestLinkWords(t *testing.T) {
	for _, c := range obd.Causes() {
		cause, todo := LinkReason{Cause: c, Text: "recorded"}.Words()
		switch {
		case !isReason(c):
		case cause == "recorded" || todo == "":
			t.Errorf("no words for %q", c)
		case len(cause) > 32 || len(todo) > 56:
			t.Errorf("%q takes %d cells, %q %d", cause, len(cause), todo, len(todo))
		}
	}
	if cause, todo := (LinkReason{Text: "words of a later version; do this"}).Words(); cause != "words of a later version; do this" || todo != "" {
		t.Errorf("a cause that is not known: %q, %q", cause, todo)
	}
	if l := (Loss{}); l.Words() == "" {
		t.Error("no words for a loss without a reason")
	}
}

// A port that is being opened, and the end, do not replace the reason, nor what is said at the end.
func TestLinkReason_Stays(t *testing.T) {
	l := NewLive(drive.New(adapter.Config{}), func() time.Duration { return 0 }, "test", nil, "")
	for _, c := range []obd.LinkChange{
		{State: obd.LinkClosed, Cause: obd.CauseUnplugged, Text: "gone"},
		{State: obd.LinkOpening, Cause: obd.CauseOpening, Text: "opening"},
		{State: obd.LinkClosed, Cause: obd.CauseEnded, Text: "ended"},
	} {
		(*liveSink)(l).Link(c)
	}
	if want := (LinkReason{obd.CauseUnplugged, "gone"}); l.board.link.Reason != want || l.Outcome().LastText != "gone" {
		t.Errorf("reason %+v, at the end %q", l.board.link.Reason, l.Outcome().LastText)
	}
}
