package session

import (
	"context"
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/drive"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session/recording"
	"github.com/judder-obd/judder/simcar"
)

// A code check in the middle of a drive: its result is on the snapshot, nothing was
// erased, the VIN was not asked, and engine speed is read again afterwards.
func TestLive_Check(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), 60*time.Second)
		defer cancel()
		engine := simcar.EngineECU()
		engine.Stored = simcar.Codes("P0741")
		sim := simcar.New(simcar.CarFunc(func(time.Duration) simcar.Condition { return simcar.WarmIdle() }), simcar.WithECUs(engine))
		start := time.Now()
		since := func() time.Duration { return time.Since(start).Truncate(time.Microsecond) }
		poller := drive.New(adapter.Config{
			Open:  func(context.Context, int) (elm.Link, error) { return link.Over(sim.Pipe(ctx), "test"), nil },
			Bauds: []int{0}, Name: "test", Since: since,
		})
		dir := t.TempDir()
		l := NewLive(poller, since, "test", nil, filepath.Join(dir, "drive.jsonl"))
		var snap Snapshot
		time.AfterFunc(10*time.Second, func() {
			if first, second := l.StartCheck(), l.StartCheck(); first != nil || !errors.Is(second, ErrCheckRuns) {
				t.Errorf("a check does not start, or starts twice: %v, %v", first, second)
			}
		})
		time.AfterFunc(40*time.Second, func() { l.Snapshot(&snap) })
		if err := l.Run(ctx); err != nil {
			t.Error(err)
		}
		synctest.Wait()
		if len(snap.Losses) > 0 {
			t.Errorf("a check counts as a lost link: %+v", snap.Losses)
		}
		if checks := l.Result().Checks; len(checks) != 1 || (checks[0].Start-10*time.Second).Abs() > time.Second || checks[0].End != snap.Check.At.Truncate(time.Microsecond) {
			t.Errorf("the check is in the drive as %+v", checks)
		}
		c := snap.Check
		text := strings.Join(c.Lines, "\n")
		if !c.Asked || c.Running || !strings.Contains(text, "P0741     stored") || strings.Contains(text, "VIN") {
			t.Errorf("%+v", c)
		}
		kept, err := check.Load(filepath.Join(dir, "drive-check-1.json"))
		if err != nil || len(kept.ECUs) == 0 || len(kept.ECUs[0].Codes) != 1 {
			t.Errorf("kept: %+v, %v", kept, err)
		}
		if len(snap.Marks) > 0 || len(snap.Checks) != 1 || snap.Checks[0].Broke || snap.Checks[0].Kept != filepath.Join(dir, "drive-check-1.json") {
			t.Errorf("marks %+v, checks %+v", snap.Marks, snap.Checks)
		}
		for _, r := range sim.Requests() {
			if strings.HasPrefix(r.Text, "0902") {
				t.Error("the VIN was asked while everything is recorded")
			}
		}
		if sim.WriteAttempts() != 0 {
			t.Error("something would have changed the car")
		}
		after := 0
		for _, lane := range snap.Lanes {
			if lane.Signal == pids.RPM && lane.At > c.At+5*time.Second {
				after++
			}
		}
		if after != 1 {
			t.Errorf("engine speed is not read after the check: %+v", snap.Lanes)
		}
	})
}

// What a user writes starts no check, whatever it is: neither in the drive nor in its recording.
// In a file of an older version, which has no lines for a check, the same words are one.
func TestCheckWatch_NotByANote(t *testing.T) {
	note, over := "standing check begins", "standing check over: kept in drive-check-1.json"
	path := filepath.Join(t.TempDir(), "drive.jsonl")
	w, err := recording.Create(path, recording.Header{})
	if err != nil {
		t.Fatal(err)
	}
	now := time.Duration(0)
	l := NewLive(drive.New(adapter.Config{}), func() time.Duration { now += time.Second; return now }, "test", w, path)
	l.Note(note)
	l.Note(over)
	l.finish(recording.WhyUser)
	live := l.Result()
	review, err := Review(path)
	if err != nil {
		t.Fatal(err)
	}
	for name, r := range map[string]Result{"drive": live, "review": review} {
		if len(r.Checks) > 0 || len(r.Marks) != 2 || r.Marks[0].Note != note {
			t.Errorf("%s: checks %+v, marks %+v", name, r.Checks, r.Marks)
		}
	}
	review, err = Review("testdata/older-check.jsonl")
	want := []CodeCheck{
		{Start: 2 * time.Second, End: 4 * time.Second, Kept: "drive-check-1.json"},
		{Start: 6 * time.Second, End: 7 * time.Second, Broke: true},
		{Start: 8 * time.Second, End: 9 * time.Second}, // the drive ends meanwhile
	}
	if err != nil || !slices.Equal(review.Checks, want) || len(review.Marks) != 1 || review.Damage != "" || len(review.Losses) != 1 {
		t.Errorf("%v, damage %q, checks %+v, marks %+v, losses %+v", err, review.Damage, review.Checks, review.Marks, review.Losses)
	}
}

// While the car moves no check starts: engine speed would not be read.
func TestLive_CheckMoving(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
		defer cancel()
		sim := simcar.New(simcar.CarFunc(func(at time.Duration) simcar.Condition {
			c := simcar.WarmIdle()
			if at < 15*time.Second {
				c.SpeedKMH = 50
			}
			return c
		}))
		start := time.Now()
		since := func() time.Duration { return time.Since(start).Truncate(time.Microsecond) }
		poller := drive.New(adapter.Config{
			Open:  func(context.Context, int) (elm.Link, error) { return link.Over(sim.Pipe(ctx), "test"), nil },
			Bauds: []int{0}, Name: "test", Since: since,
		})
		l := NewLive(poller, since, "test", nil, "")
		if err := l.StartCheck(); !errors.Is(err, ErrNoCheck) {
			t.Errorf("without a car: %v", err)
		}
		time.AfterFunc(10*time.Second, func() {
			if err := l.StartCheck(); !errors.Is(err, ErrMoving) {
				t.Errorf("at 50 km/h: %v", err)
			}
		})
		time.AfterFunc(25*time.Second, func() {
			if err := l.StartCheck(); err != nil {
				t.Errorf("at a standstill: %v", err)
			}
		})
		if err := l.Run(ctx); err != nil {
			t.Error(err)
		}
		synctest.Wait()
	})
}

// A snapshot that holds the identification number does not put it into the recording of a
// drive. The number is ours; layout: ISO 14229-1 service 19 report 04, ISO 15765-2.
func TestLive_CheckKeepsNoVIN(t *testing.T) {
	kept := &lines{}
	l := NewLive(drive.New(adapter.Config{}), func() time.Duration { return 0 }, "test", kept, "")
	l.check.Asked = true
	x := obd.Exchange{Request: "1904074100FF", Form: obd.FormCAN11}
	for _, text := range []string{"7E8101B590407410028", "7E8210101F190305445", "7E8225354313141304B", "7E82330303030303032"} {
		x.Lines = append(x.Lines, obd.Line{Text: text})
	}
	(*liveSink)(l).Exchange(x, l.analysis.decoder.Decode(&x))
	if text := strings.Join(kept.text, " "); !strings.Contains(text, "5354313141304B") || strings.Contains(text, "30303030303032") {
		t.Errorf("kept: %s", text)
	}
}

// lines is a Recorder that keeps the lines of replies.
type lines struct {
	fullDisk
	text []string
}

func (k *lines) Append(e recording.Entry) error {
	for _, line := range e.Exchange.Lines {
		k.text = append(k.text, line.Text)
	}
	return nil
}
