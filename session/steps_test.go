package session

import (
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/cause"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session/recording"
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

// A cylinder that misfires under load: service 06 counts it, the ledger has its number, and engine speed
// loses less than 2 % of its time to the counters.
func TestSteps_MisfireCounts(t *testing.T) {
	live, path := trip{script: drivetrain.LoadMisfire, start: time.Minute, length: 4 * time.Minute}.drive(t)
	r := live.Result()
	if m := r.Misfire; !m.Read || m.Lacks || len(m.Rises) == 0 {
		t.Fatalf("counts %+v", m)
	}
	for _, x := range r.Misfire.Rises {
		if x.Cylinder != 4 || x.By <= 0 || x.From >= x.To {
			t.Errorf("rise %+v", x)
		}
	}
	ledger := LedgerOf(&r)
	lines := ledger.Of(cause.Misfire, cause.For)
	if i := slices.IndexFunc(lines, func(l cause.Line) bool { return l.Rule == cause.CountRose }); i < 0 || lines[i].Named != "4" {
		t.Errorf("for a misfire: %+v", lines)
	}
	var counting time.Duration
	replay, err := OpenReplay(path, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range replay.entries {
		if e.Kind == recording.KindExchange && strings.HasPrefix(e.Exchange.Request, "06") {
			counting += e.Exchange.Done - e.Exchange.Sent
		}
	}
	if share := counting.Seconds() / r.Duration.Seconds(); share == 0 || share >= 0.02 {
		t.Errorf("counters took %.2f %% of the drive", 100*share)
	}
	if review, err := Review(path); err != nil || found(t, review) != found(t, r) {
		t.Errorf("review differs from live: %v", err)
	}
}

// Counts that were cleared are no rise; a shudder between two readings without a rise is quiet.
func TestCountWatch(t *testing.T) {
	var w countWatch
	events := []detect.Event{{Start: 10 * time.Second, End: 12 * time.Second}, {Start: 40 * time.Second, End: 42 * time.Second}}
	read := func(at time.Duration, value byte) {
		w.take(&reply.Decoded{Messages: []reply.Message{{At: at, Data: []byte{0x46, 0xA5, 0x0B, 0x24, 0, 99, 0, 0, 0xFF, 0xFF, 0xA5, 0x0C, 0x24, 0, value, 0, 0, 0xFF, 0xFF}}}})
	}
	for _, c := range []struct {
		at    time.Duration
		value byte
	}{{5, 3}, {15, 3}, {30, 0}, {45, 38}, {60, 38}} {
		read(c.at*time.Second, c.value)
	}
	got := w.found(events)
	want := cause.Counts{Read: true, Quiet: 1, Rises: []cause.Rise{{From: 30 * time.Second, To: 45 * time.Second, Cylinder: 4, By: 38, Event: 1}}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, want %+v", got, want)
	}
	if m := w.misfires(); m != (Misfires{By: 38, Cylinder: 4}) {
		t.Errorf("misfires %+v", m)
	}
	if !w.wants(events[:1], 14*time.Second) || w.wants(events[:1], 20*time.Second) || w.wants(events, 43*time.Second) || !w.wants(events, 44*time.Second) {
		t.Error("each shudder wants its counts once, 1.5 s after its end")
	}
	var none countWatch
	none.take(&reply.Decoded{Messages: []reply.Message{{Data: []byte{0x46, 0xA0, 0x80, 0, 0, 1}}}}) // A1 and C0 alone
	if c := none.found(events); c.Read || !c.Lacks || c.Quiet != 0 {
		t.Errorf("a car without counters: %+v", c)
	}
}

// Fuel trims inside a surge against those before it.
func TestTrims(t *testing.T) {
	b := newStepBook()
	for s := range 60 {
		v := 1.0
		if s >= 30 && s < 50 {
			v = 1 + 9*float64(s%2)
		}
		b.push(pids.Sample{At: time.Duration(s) * time.Second, Signal: "SHRTFT1", Value: v})
	}
	surge := []detect.Observation{{Start: 30 * time.Second, End: 45 * time.Second, Kind: detect.SlowSwing}, {Start: 10 * time.Second, End: 20 * time.Second, Kind: detect.GearHunting}}
	brief := []detect.Event{{Start: 20 * time.Second, End: 21 * time.Second}}
	got := b.trims(brief, surge)
	if len(got) != 1 || got[0].MovedPct != 9 || got[0].Signal != "SHRTFT1" || !got[0].Surge {
		t.Errorf("%+v; a second of shudder holds too few readings, hunting is no surge", got)
	}
	if b.trims(nil, nil) != nil {
		t.Error("nothing to compare")
	}
}

// What was felt with engine speed steady points at the wheels only where shudder would have been seen: on
// a slow link it may have been missed.
func TestLedger_FeltOnASlowLink(t *testing.T) {
	for rate, want := range map[float64]bool{4: false, 8.9: false, 9: true, 20: true} {
		r := Result{Rate: rate, Marks: feltMarks(NotSeen, NotJudged)}
		ledger := LedgerOf(&r)
		lines := ledger.Of(cause.Tyre, cause.For)
		if got := slices.ContainsFunc(lines, func(l cause.Line) bool { return l.Rule == cause.FeltNotSeen }); got != want {
			t.Errorf("%v readings a second: %+v", rate, lines)
		}
	}
}
