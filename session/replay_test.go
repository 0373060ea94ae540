package session

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/simcar/drivetrain"
)

var shudderingDrive struct {
	sync.Once
	file []byte
}

// shuddering is the path of a recording of two minutes of shuddering, driven once for all tests.
func shuddering(t *testing.T) string {
	t.Helper()
	shudderingDrive.Do(func() {
		_, path := trip{script: drivetrain.AlwaysShudders, length: 2 * time.Minute}.drive(t)
		var err error
		if shudderingDrive.file, err = os.ReadFile(path); err != nil {
			t.Fatal(err)
		}
	})
	path := filepath.Join(t.TempDir(), "drive.jsonl")
	if err := os.WriteFile(path, shudderingDrive.file, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// played runs a replay of two minutes of shuddering under simulated time, while do handles it.
func played(t *testing.T, speed float64, do func(t *testing.T, r *Replay)) {
	t.Helper()
	path := shuddering(t)
	synctest.Test(t, func(t *testing.T) {
		r, err := OpenReplay(path, speed)
		if err != nil {
			t.Fatal(err)
		}
		ran := make(chan error, 1)
		go func() { ran <- r.Run(context.Background()) }()
		do(t, r)
		r.End()
		if err := <-ran; err != nil {
			t.Error(err)
		}
	})
}

func stateOf(r *Replay) (s Snapshot) {
	r.Snapshot(&s)
	return s
}

// The drive's clock runs with the speed, stops while held, and goes where it is sent.
func TestReplay_SpeedPauseSeek(t *testing.T) {
	t.Parallel()
	played(t, 1, func(t *testing.T, r *Replay) {
		at := time.Duration(0)
		for _, step := range []struct {
			what  string
			do    func()
			wait  time.Duration
			moves time.Duration // from where the step before left it
			phase Phase
		}{
			{"real time", func() {}, 10 * time.Second, 10 * time.Second, Replaying},
			{"three times", func() { r.SetSpeed(3) }, 10 * time.Second, 30 * time.Second, Replaying},
			{"held", func() { r.Pause(true) }, time.Minute, 0, Paused},
			{"sent on while held", func() { r.Seek(60 * time.Second) }, time.Minute, 20 * time.Second, Paused},
			{"let go", func() { r.Pause(false) }, 10 * time.Second, 30 * time.Second, Replaying},
			{"sent back", func() { r.Seek(15 * time.Second) }, 5 * time.Second, -60 * time.Second, Replaying},
			{"slowly", func() { r.SetSpeed(0.5) }, 10 * time.Second, 5 * time.Second, Replaying},
		} {
			step.do()
			time.Sleep(step.wait)
			synctest.Wait()
			at += step.moves
			s := stateOf(r)
			if d := s.Now - at; d < -100*time.Millisecond || d > 100*time.Millisecond {
				t.Errorf("%s: at %v, want %v", step.what, s.Now, at)
			}
			if s.Phase != step.phase || s.Replay.Paused != (step.phase == Paused) {
				t.Errorf("%s: phase %d", step.what, s.Phase)
			}
			at = s.Now
		}
		r.SetSpeed(0)
		time.Sleep(3 * time.Second)
		synctest.Wait()
		if s := stateOf(r); s.Phase != Finished || s.Now != s.Replay.Length {
			t.Errorf("as fast as it can: phase %d at %v of %v", s.Phase, s.Now, s.Replay.Length)
		}
		r.SetSpeed(1) // first: as fast as it can, it would be off again at once
		r.Seek(5 * time.Second)
		time.Sleep(time.Second)
		if s := stateOf(r); s.Phase != Replaying || s.Now > 7*time.Second {
			t.Errorf("sent back from the end: phase %d at %v", s.Phase, s.Now)
		}
	})
}

// Nothing of an earlier moment is left in a snapshot that is used again, and what a moment
// shows does not depend on the way there.
func TestReplay_SnapshotReused(t *testing.T) {
	t.Parallel()
	r, err := OpenReplay(shuddering(t), 1)
	if err != nil {
		t.Fatal(err)
	}
	var used Snapshot
	for _, at := range []time.Duration{time.Minute, 2 * time.Minute, time.Second, 100 * time.Second, 0, 110 * time.Second} {
		r.Seek(at)
		r.Snapshot(&used)
		straight := &Replay{entries: r.entries, whole: r.whole, course: r.course, source: r.source, profile: r.profile, speed: 1, wake: make(chan struct{}, 1)}
		straight.rewind() // as OpenReplay makes it
		straight.Seek(at)
		if got, want := fmt.Sprintf("%+v", used), fmt.Sprintf("%+v", stateOf(straight)); got != want {
			t.Errorf("at %v a used snapshot differs from a fresh one", at)
		}
	}
	if len(used.Replay.Events) == 0 || len(used.Lanes) < 4 {
		t.Errorf("%d events, %d lanes: the comparison compares little", len(used.Replay.Events), len(used.Lanes))
	}
}

// A recording cut anywhere opens, and says in words what is missing.
func TestReview_Cut(t *testing.T) {
	t.Parallel()
	live, path := trip{script: drivetrain.RoadTest, length: 20 * time.Second}.drive(t)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	cut := filepath.Join(t.TempDir(), "cut.jsonl")
	for n := len(whole) - 1; n > len(whole)/4; n -= 9973 { // odd and prime: every place in a line comes about
		if err := os.WriteFile(cut, whole[:n], 0o600); err != nil {
			t.Fatal(err)
		}
		r, err := Review(cut)
		if err != nil {
			t.Fatalf("cut at %d: %v", n, err)
		}
		replay, err := OpenReplay(cut, 0)
		if err != nil {
			t.Fatalf("cut at %d: %v", n, err)
		}
		if said := r.Damage; n < len(whole)-1 && !strings.HasPrefix(said, "no end after") || stateOf(replay).Replay.Damage != said {
			t.Errorf("cut at %d of %d: review says %q, replay %q", n, len(whole), said, stateOf(replay).Replay.Damage)
		}
		if share := float64(n) / float64(len(whole)); r.Duration.Seconds() < (share-0.2)*live.Result().Duration.Seconds() {
			t.Errorf("cut at %d of %d: only %v is left", n, len(whole), r.Duration)
		}
	}
}
