package session

import (
	"slices"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect/cause"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/simcar/drivetrain"
)

// The simulated road test from its second round on, in which the driver touches the brake in every
// second shudder: what was announced is marked, the same live, in the review and in the replay, and the
// shudder that stopped speaks for the clutch.
func TestSteps_RoadTest(t *testing.T) {
	const start, length = 6 * time.Minute, 5 * time.Minute
	trip := trip{script: drivetrain.RoadTest, start: start, length: length, during: func(l *Live) {
		time.Sleep(20 * time.Second)
		l.ArmStep(steps.NeutralCoast)
		time.Sleep(time.Second)
		l.ArmStep(steps.ClutchRelease)
	}}
	live, path := trip.drive(t)
	r := live.Result()
	review, err := Review(path)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := found(t, review), found(t, r); got != want {
		t.Errorf("review differs from live:\n%s\nlive:\n%s", got, want)
	}
	taps := drivetrain.New(drivetrain.Spec{Seed: 7, Length: start + length, Script: drivetrain.RoadTest}).Taps()
	seen := 0
	for _, s := range r.Steps {
		if s.Kind != steps.ClutchRelease {
			continue
		}
		if !s.Armed {
			t.Errorf("%s at %v was announced", s.Kind, s.Start)
		}
		if slices.ContainsFunc(taps, func(tap drivetrain.Tap) bool { return abs(s.Start+start-tap.Start) < time.Second }) {
			seen++
		}
	}
	if seen == 0 {
		t.Fatalf("no release among %+v; the brake was touched at %v", r.Steps, taps)
	}
	var snap Snapshot
	live.Snapshot(&snap)
	if a := snap.Arming; !a.On || a.Kind != steps.ClutchRelease || a.Made == 0 || a.Setup[0].Need != NeedWarm {
		t.Errorf("arming %+v", a)
	}
	if c := r.Contrasts; len(c) == 0 || c[0].Kind != steps.ClutchRelease || c[0].Stopped == 0 {
		t.Fatalf("contrasts %+v", c)
	}
	ledger := LedgerOf(&r)
	lines := ledger.Of(cause.ConverterClutch, cause.For)
	if !slices.ContainsFunc(lines, func(l cause.Line) bool { return l.Rule == cause.StoppedAtRelease }) {
		t.Errorf("for the clutch: %+v", lines)
	}
	replay, err := OpenReplay(path, 0)
	if err != nil {
		t.Fatal(err)
	}
	replay.Seek(length / 2)
	replay.Snapshot(&snap)
	if len(snap.Steps) > len(snap.Replay.Steps) || len(snap.Replay.Steps) != len(r.Steps) {
		t.Errorf("replay: %d steps by the cursor, %d in all; live %d", len(snap.Steps), len(snap.Replay.Steps), len(r.Steps))
	}
	for _, s := range snap.Steps {
		if s.Start > snap.Now {
			t.Errorf("a step at %v is shown at %v", s.Start, snap.Now)
		}
	}
}

func abs(d time.Duration) time.Duration { return max(d, -d) }
