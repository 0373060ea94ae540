package session

import (
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
)

// The course is that of who sends a signal most often, and of the first signal of driver demand that
// is read.
func TestCourseOf(t *testing.T) {
	var samples []pids.Sample
	add := func(ecu string, signal pids.Signal, values ...float64) {
		for i, v := range values {
			samples = append(samples, pids.Sample{At: time.Duration(i) * time.Second, ECU: ecu, Signal: signal, Value: v})
		}
	}
	add("7E9", pids.RPM, 1, 2)
	add("7E8", pids.RPM, 700, 710, 720)
	add("7E8", pids.APPD, 8, 9, 10, 11)
	add("7E8", pids.TP, 15)
	add("7E8", pids.ECT, 90, 90, 90, 90, 90)
	c := CourseOf(samples)
	if len(c.RPM) != 3 || c.RPM[2] != (Point{2 * time.Second, 720}) || len(c.Throttle) != 1 || c.Throttle[0].Value != 15 || len(c.Speed) != 0 {
		t.Errorf("%+v", c)
	}
}

// A replay hands the screen what comes after the cursor, and shares it: a frame copies nothing of it.
func TestReplay_CourseIsWhole(t *testing.T) {
	t.Parallel()
	r, err := OpenReplay(shuddering(t), 1)
	if err != nil {
		t.Fatal(err)
	}
	var a, b Snapshot
	r.Snapshot(&a)
	r.Seek(time.Minute)
	r.Snapshot(&b)
	rpm := a.Replay.Course.RPM
	if len(rpm) < 1000 || rpm[len(rpm)-1].At < r.Whole().Duration-2*time.Second {
		t.Fatalf("%d readings at the start of a replay of %v", len(rpm), r.Whole().Duration)
	}
	if &rpm[0] != &b.Replay.Course.RPM[0] {
		t.Error("the course is copied")
	}
}
