package session

import (
	"context"
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/drive"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/session/recording"
	"github.com/judder-obd/judder/simcar"
	"github.com/judder-obd/judder/simcar/drivetrain"
)

// trip is a live session on a simulated car, under simulated time.
type trip struct {
	script drivetrain.Script
	length time.Duration
	short  time.Duration // the length of a short run, where a test uses it
	start  time.Duration // where in the drive it begins
	faults []simcar.Fault
	during func(*Live) // called by a goroutine of its own
	rec    func(t *testing.T, path string) Recorder
}

// drive runs the trip and returns the session and the path of its recording.
func (tr trip) drive(t *testing.T) (*Live, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "drive.jsonl")
	var live *Live
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), tr.length)
		defer cancel()
		trip := drivetrain.New(drivetrain.Spec{Seed: 7, Length: tr.start + tr.length, Script: tr.script})
		options := append(simcar.Realistic(), simcar.StartAt(tr.start), simcar.WithFaults(tr.faults...))
		sim := simcar.New(simcar.FromDrive(trip), options...)
		began := time.Now()
		since := func() time.Duration { return time.Since(began).Truncate(time.Microsecond) }
		poller := drive.New(adapter.Config{
			Open:  func(context.Context, int) (elm.Link, error) { return link.Over(sim.Pipe(ctx), "test"), nil },
			Bauds: []int{0}, Name: "test", Since: since,
		})
		var rec Recorder
		if tr.rec != nil {
			rec = tr.rec(t, path)
		} else {
			w, err := recording.Create(path, recording.Header{Start: began, Program: "test"})
			if err != nil {
				t.Fatal(err)
			}
			rec = w
		}
		live = NewLive(poller, since, "test", rec, path)
		var beside sync.WaitGroup
		if tr.during != nil {
			beside.Go(func() { tr.during(live) })
		}
		if err := live.Run(ctx); err != nil {
			t.Error(err)
		}
		beside.Wait()
	})
	return live, path
}

// found is all that a result says, as bytes.
func found(t *testing.T, r Result) string {
	t.Helper()
	r.Damage = ""
	text := func(v any) string {
		b, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	for i := range r.Events { // not a number is not JSON
		e := &r.Events[i]
		for _, v := range []*float64{&e.LoadPct, &e.ThrottlePct, &e.CoolantC, &e.SpeedKMH, &e.FloorRPM, &e.LimitRPM} {
			if *v != *v {
				*v = -1
			}
		}
	}
	for i := range r.Slip {
		if v := &r.Slip[i].WantedRPM; *v != *v {
			*v = -1
		}
	}
	return strings.Join([]string{text(r.Duration), text(r.Verdict), text(r.Events), text(r.Stops),
		text(r.Observations), text(r.Spans), text(r.Marks), text(r.Slip), text(r.Apparent), text(r.Locked), text(r.Losses), text(r.Checks), text(r.Missing),
		fmt.Sprintf("%+v %+v %+v %+v %+v", r.Steps, r.Contrasts, r.Misfire, r.Trims, LedgerOf(&r))}, "\n")
}

// What was found live, in the review of the recording, and in its replay is the same to the
// byte, whatever happened to the link on the way.
func TestLiveReviewAndReplayAgree(t *testing.T) {
	for name, tr := range map[string]trip{
		"shudder": {script: drivetrain.AlwaysShudders, length: 6 * time.Minute, short: 160 * time.Second},
		"road test": {script: drivetrain.RoadTest, length: 6 * time.Minute, short: 150 * time.Second,
			during: func(l *Live) {
				time.Sleep(100 * time.Second)
				l.Felt()
				l.Note("uphill")
			}},
		"bad link": {script: drivetrain.AlwaysShudders, length: 5 * time.Minute, short: 160 * time.Second, faults: []simcar.Fault{
			{Kind: simcar.AdapterReset, At: 60 * time.Second}, {Kind: simcar.LineDrop, At: 100 * time.Second, For: 3 * time.Second},
			{Kind: simcar.LostReply, Chance: 0.01}, {Kind: simcar.DamagedReply, Chance: 0.01}, {Kind: simcar.LateReply, Chance: 0.005, For: 200 * time.Millisecond},
			{Kind: simcar.Silence, At: 150 * time.Second, For: 4 * time.Second},
		}},
	} {
		if testing.Short() {
			tr.length = tr.short
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			live, path := tr.drive(t)
			want := found(t, live.Result())
			review, err := Review(path)
			if err != nil {
				t.Fatal(err)
			}
			if review.Damage != "" {
				t.Errorf("damage: %s", review.Damage)
			}
			if got := found(t, review); got != want {
				t.Errorf("review differs from live:\n%s\nlive:\n%s", got, want)
			}
			replay, err := OpenReplay(path, 0)
			if err != nil {
				t.Fatal(err)
			}
			replay.Seek(review.Duration / 2)
			replay.Seek(review.Duration / 3) // back again: analysed again
			replay.Seek(review.Duration)
			again := replay.analysis.Result()
			if got := found(t, again); got != want {
				t.Errorf("replay differs from live:\n%s\nlive:\n%s", got, want)
			}
			if name != "bad link" && len(review.Events) == 0 {
				t.Error("nothing was found: the comparison compares nothing")
			}
			if name != "bad link" && (len(review.Apparent) == 0 || len(review.Locked) == 0) {
				t.Errorf("apparent slip %v, locked ratios %v: the comparison compares nothing", review.Apparent, review.Locked)
			}
			t.Logf("%d events, %d stops, %d marks, %d slip swings, %d stretches of apparent slip, %v, %v", len(review.Events),
				len(review.Stops), len(review.Marks), len(review.Slip), len(review.Apparent), review.Locked, review.Verdict.Finding)
		})
	}
}

// fullDisk takes so many entries and then no more.
type fullDisk struct {
	room   int
	closed int
}

var errFull = &recording.WriteError{Path: "full.jsonl", At: 12 * time.Second, Full: true, Err: syscall.ENOSPC}

func (f *fullDisk) Append(recording.Entry) error {
	if f.room--; f.room < 0 {
		return errFull
	}
	return nil
}
func (f *fullDisk) About(recording.About) error { return nil }
func (f *fullDisk) Close(string) error          { f.closed++; return errFull }
func (f *fullDisk) Place() recording.Place      { return recording.InPlace }

// A full disk ends the recording, is reported, and does not end the session.
func TestLive_FullDisk(t *testing.T) {
	disk := &fullDisk{room: 500}
	reported := 0 // how often the screen's word about it changed
	tr := trip{script: drivetrain.RoadTest, length: time.Minute, rec: func(*testing.T, string) Recorder { return disk },
		during: func(l *Live) {
			var s Snapshot
			for last := ""; s.Phase != Finished; last = s.Trouble {
				time.Sleep(250 * time.Millisecond)
				if l.Snapshot(&s); s.Trouble != last {
					reported++
				}
			}
		}}
	live, _ := tr.drive(t)
	if reported != 1 {
		t.Errorf("reported %d times, want once", reported)
	}
	if got := live.Result().Damage; got != errFull.Error() {
		t.Errorf("reported %q", got)
	}
	if want := (RecordingStop{At: 12 * time.Second, Cause: "the disk is full"}); live.Outcome().Stop != want {
		t.Errorf("stopped %+v, want %+v", live.Outcome().Stop, want)
	}
	if disk.closed != 1 || live.Outcome().Answered < 1000 {
		t.Errorf("closed %d times, %d exchanges", disk.closed, live.Outcome().Answered)
	}
}

// A mark carries the moment of the key press, and is in the recording though nothing
// else comes.
func TestLive_MarkWhileTheLinkIsLost(t *testing.T) {
	at := 20 * time.Second
	tr := trip{script: drivetrain.RoadTest, length: 40 * time.Second,
		faults: []simcar.Fault{{Kind: simcar.IgnitionOff, At: 15 * time.Second, For: 20 * time.Second}},
		during: func(l *Live) {
			time.Sleep(at)
			var s Snapshot
			l.Snapshot(&s)
			if s.Phase != LinkLost {
				t.Errorf("phase %d with the ignition off", s.Phase)
			}
			l.Felt()
		}}
	_, path := tr.drive(t)
	review, err := Review(path)
	if err != nil {
		t.Fatal(err)
	}
	if len(review.Marks) != 1 || review.Marks[0].At != at {
		t.Errorf("marks %v, want one at %v", review.Marks, at)
	}
	if review.Damage != "" {
		t.Errorf("damage: %s", review.Damage)
	}
}

// The board shows what the last two minutes held, and a snapshot can be used again.
func TestLive_Snapshot(t *testing.T) {
	t.Parallel()
	var first, later Snapshot
	tr := trip{script: drivetrain.RoadTest, length: 4 * time.Minute, during: func(l *Live) {
		time.Sleep(30 * time.Second)
		l.Snapshot(&first)
		time.Sleep(200 * time.Second)
		l.Snapshot(&later)
	}}
	tr.drive(t)
	if first.Phase != Running || first.Link.State != obd.LinkCar || first.Link.HostShare > time.Millisecond {
		t.Errorf("phase %d, link %+v", first.Phase, first.Link)
	}
	for _, l := range later.Lanes {
		for i, p := range l.History {
			if p.At < later.Now-boardSpan || i > 0 && p.At < l.History[i-1].At {
				t.Fatalf("%s: point at %v, now %v", l.Signal, p.At, later.Now)
			}
		}
	}
	for _, l := range later.Lanes {
		if l.Signal == "GEAR_RAT" && l.Step != 0.001 { // SAE J1979, PID A4
			t.Errorf("the gear's ratio has steps of %v", l.Step)
		}
	}
	if l := later.Lanes[0]; l.Signal != "RPM" || l.ECU != "7E8" || l.Unit != "rpm" || l.Rate < 20 {
		t.Errorf("first lane %s %s %s, %.1f/s", l.Signal, l.ECU, l.Unit, l.Rate)
	}
}

// Only a session in which the car never said a thing holds nothing: a reply that gives no reading may
// still be of use.
func TestLive_Heard(t *testing.T) {
	for name, c := range map[string]struct {
		lines []string
		heard bool
	}{
		"silent":            {nil, false},
		"no answer":         {[]string{"NO DATA"}, false},
		"searched in vain":  {[]string{"SEARCHING...", "UNABLE TO CONNECT"}, false},
		"a map, no reading": {[]string{"7E8 06 41 00 BE 3E B8 11 00"}, true},
		"a refusal":         {[]string{"7E8 03 7F 01 11 00 00 00 00"}, true},
		"damage":            {[]string{"7E8 06 41 0<DATA ERROR"}, true},
	} {
		l := NewLive(drive.New(adapter.Config{}), func() time.Duration { return 0 }, "test", nil, "")
		x := obd.Exchange{Request: "0100", Form: obd.FormCAN11}
		for _, text := range c.lines {
			x.Lines = append(x.Lines, obd.Line{Text: text})
		}
		(*liveSink)(l).Exchange(x, l.analysis.decoder.Decode(&x))
		if o := l.Outcome(); o.Heard != c.heard || o.Answered != 0 {
			t.Errorf("%s: heard %v, %d readings", name, o.Heard, o.Answered)
		}
	}
}

// writtenFirst is a Recorder that looks at the session when an entry is written.
type writtenFirst struct {
	fullDisk
	look func()
}

func (w *writtenFirst) Append(recording.Entry) error { w.look(); return nil }

// An entry is written before anything looks at it: what breaks the program is in the recording.
func TestLive_WrittenFirst(t *testing.T) {
	rec := &writtenFirst{}
	l := NewLive(drive.New(adapter.Config{}), func() time.Duration { return 0 }, "test", rec, "")
	written, decoded := 0, 0
	rec.look = func() { written++; decoded = l.answered }
	for n := range 3 {
		x := obd.Exchange{Request: "010C", Form: obd.FormCAN11, Lines: []obd.Line{{Text: "7E8 04 41 0C 1A F8"}}}
		(*liveSink)(l).Exchange(x, l.analysis.decoder.Decode(&x))
		if written != n+1 || decoded != n {
			t.Errorf("at entry %d, %d are written and %d analysed", n+1, written, decoded)
		}
	}
}
