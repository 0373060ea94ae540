package session

import (
	"fmt"
	"math"
	"reflect"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session/complaint"
	"github.com/judder-obd/judder/simcar/drivetrain"
)

// leg is a stretch of a made-up drive.
type leg struct {
	s      float64 // how long, s
	reason detect.Reason
	kmh    float64
	load   float64
}

const (
	steady  = detect.Judged
	moving  = detect.ThrottleMoving
	ofLight = 40.
)

// driven gives a passBook what a detector would give it: judged time in pieces of 0.2 s.
func driven(box complaint.Box, legs ...leg) *passBook {
	b := newPassBook()
	b.setBox(box)
	var spans []detect.Span
	at := time.Duration(0)
	for _, l := range legs {
		b.push(&pids.Sample{Signal: pids.VSS, Value: l.kmh})
		b.push(&pids.Sample{Signal: pids.LoadPct, Value: l.load})
		b.push(&pids.Sample{Signal: "GEAR_ACT", Value: 5})
		spans = append(spans, detect.Span{Start: at, End: at, Reason: l.reason})
		for end := at + sec(l.s); at < end; {
			at = min(at+200*time.Millisecond, end)
			spans[len(spans)-1].End = at
			b.follow(spans, func() float64 { return l.kmh })
		}
	}
	return &b
}

func box(t *testing.T, text string) complaint.Box {
	t.Helper()
	b, err := complaint.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestPasses(t *testing.T) {
	type pass struct {
		start, end, judged, kmh float64
		in                      bool
	}
	for name, c := range map[string]struct {
		box  string
		legs []leg
		want []pass
	}{
		"8 s are a pass":          {"60-70", []leg{{8, steady, 65, ofLight}}, []pass{{0, 8, 8, 65, true}}},
		"7.8 s are none":          {"60-70", []leg{{7.8, steady, 65, ofLight}}, nil},
		"elsewhere":               {"60-70", []leg{{9, steady, 80, ofLight}}, []pass{{0, 9, 9, 80, false}}},
		"medium load":             {"60-70 light", []leg{{9, steady, 65, 70}}, []pass{{0, 9, 9, 65, false}}},
		"a small hole":            {"60-70", []leg{{5, steady, 65, ofLight}, {2, moving, 66, ofLight}, {5, steady, 67, ofLight}}, []pass{{0, 12, 10, 66, true}}},
		"a large hole":            {"60-70", []leg{{8, steady, 65, ofLight}, {2.2, moving, 65, ofLight}, {9, steady, 65, ofLight}}, []pass{{0, 8, 8, 65, true}, {10.2, 19.2, 9, 65, true}}},
		"two halves":              {"60-70", []leg{{5, steady, 65, ofLight}, {3, moving, 65, ofLight}, {5, steady, 65, ofLight}}, nil},
		"out of the box":          {"60-70", []leg{{10, steady, 65, ofLight}, {10, steady, 75, ofLight}}, []pass{{0, 10, 10, 65, true}, {10, 20, 10, 75, false}}},
		"out for a moment":        {"60-70", []leg{{5, steady, 70, ofLight}, {1, steady, 71, ofLight}, {5, steady, 70, ofLight}}, []pass{{0, 11, 10, 70, true}}},
		"no complaint, no box":    {"", []leg{{9, steady, 65, ofLight}}, []pass{{0, 9, 9, 65, false}}},
		"to and fro on the edge":  {"60-70", []leg{{3, steady, 70, ofLight}, {3, steady, 71, ofLight}, {3, steady, 70, ofLight}}, nil},
		"nothing that was judged": {"60-70", []leg{{30, moving, 65, ofLight}}, nil},
	} {
		b := driven(complaint.Box{}, c.legs...)
		if c.box != "" {
			b.setBox(box(t, c.box)) // also after the drive
		}
		var got []pass
		for _, p := range b.all(nil, nil) {
			got = append(got, pass{p.Start.Seconds(), p.End.Seconds(), p.Judged.Seconds(), math.Round(p.SpeedKMH*1e6) / 1e6, p.InComplaint})
			if p.Gear != 5 || !math.IsNaN(p.CoolantC) || !math.IsNaN(p.ThrottlePct) {
				t.Errorf("%s: %+v", name, p)
			}
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
		if c.box == "" {
			continue
		}
		if while := driven(box(t, c.box), c.legs...); fmt.Sprint(while.all(nil, nil)) != fmt.Sprint(b.all(nil, nil)) || while.inBox != b.inBox {
			t.Errorf("%s: asked before the drive %+v, after it %+v", name, while.all(nil, nil), b.all(nil, nil))
		}
	}
}

func TestPasses_Shudder(t *testing.T) {
	b := driven(complaint.Box{}, leg{10, steady, 65, ofLight}, leg{5, moving, 65, ofLight}, leg{10, steady, 65, ofLight})
	got := b.all(nil, []detect.Event{{Start: sec(14.5), End: sec(15.5)}})
	if len(got) != 2 || got[0].Shudder || !got[1].Shudder {
		t.Errorf("%+v", got)
	}
}

// What was judged is in the table once, by speed and load.
func TestCoverage(t *testing.T) {
	b := driven(complaint.Box{}, leg{10, steady, 65, ofLight}, leg{4, steady, 69.9, 70}, leg{3, steady, 110, 90}, leg{2, steady, 30, math.NaN()}, leg{9, moving, 50, 20})
	var sum time.Duration
	for _, r := range b.cover.Rows {
		for i, d := range r.Judged {
			sum += d
			want := time.Duration(0)
			switch {
			case r.FromKMH == 60 && i == CoverLight:
				want = sec(10)
			case r.FromKMH == 60 && i == CoverMedium:
				want = sec(4)
			case r.FromKMH == 110 && i == CoverHeavy:
				want = sec(3)
			case r.FromKMH == 30 && i == CoverUnknown:
				want = sec(2)
			}
			if d != want {
				t.Errorf("%v km/h, column %d: %v, want %v", r.FromKMH, i, d, want)
			}
		}
	}
	if sum != b.inBox || sum != sec(19) {
		t.Errorf("the table has %v, judged %v", sum, b.inBox)
	}
}

func TestNeed(t *testing.T) {
	in, out := Pass{InComplaint: true}, Pass{}
	for _, c := range []struct {
		box    string
		judged float64
		passes []Pass
		more   int
		beyond bool
	}{
		{"60-70", 0, nil, 4, false}, // 30 s are four passes of 8 s
		{"60-70", 10, []Pass{in, out}, 3, false},
		{"60-70", 24, []Pass{in, in, in}, 1, false},
		{"60-70", 60, []Pass{in, in}, 1, false},
		{"60-70", 30, []Pass{in, in, in}, 0, false},
		{"60-70", 60, []Pass{out, out, out}, 3, false},
		{"10-20", 0, nil, 4, true},
		{"", 30, []Pass{out, out, out}, 0, false},
	} {
		b := complaint.Box{}
		if c.box != "" {
			b = box(t, c.box)
		}
		n := needOf(b, sec(c.judged), c.passes)
		if n.More != c.more || n.Beyond != c.beyond || n.Enough() != (c.more == 0 && !c.beyond) || n.Words(b) == "" {
			t.Errorf("%+v: %+v %q", c, n, n.Words(b))
		}
	}
}

// A complaint that is set in a drive is in its recording: the review knows it, and finds the same
// passes. Another one can be put to the recording.
func TestComplaint_Recorded(t *testing.T) {
	asked := box(t, "70-100 light warm")
	var snap Snapshot
	tr := trip{script: drivetrain.RoadTest, length: 4 * time.Minute, during: func(l *Live) {
		l.SetComplaint(box(t, "30-40"))
		time.Sleep(time.Second)
		l.SetComplaint(asked)
		time.Sleep(200 * time.Second)
		l.Snapshot(&snap)
	}}
	live, path := tr.drive(t)
	want := live.Result()
	if snap.Complaint != asked || len(snap.Passes) == 0 || snap.Need.Judged == 0 || len(snap.Cover.Rows) == 0 {
		t.Errorf("on the screen: %+v %+v %+v", snap.Complaint, snap.Passes, snap.Need)
	}
	got, err := Review(path)
	if err != nil || got.Complaint != asked || got.Damage != "" || got.Need.Passes == 0 {
		t.Fatalf("%v %q %+v %+v", err, got.Damage, got.Complaint, got.Need)
	}
	if fmt.Sprint(got.Passes, got.Need, got.Cover) != fmt.Sprint(want.Passes, want.Need, want.Cover) {
		t.Errorf("review %+v %+v, drive %+v %+v", got.Passes, got.Need, want.Passes, want.Need)
	}
	if got.Recorded.Program != "test" || got.Recorded.At.IsZero() {
		t.Errorf("recorded %+v", got.Recorded)
	}
	var judged time.Duration
	for _, s := range got.Spans {
		if s.Reason == detect.Judged {
			judged += s.End - s.Start
		}
	}
	r, err := OpenReplay(path, 0)
	if err != nil {
		t.Fatal(err)
	}
	r.SetComplaint(complaint.Box{})
	if w := r.Whole(); w.Need.Judged != judged || w.Complaint != (complaint.Box{}) || w.Need.Passes != len(w.Passes) {
		t.Errorf("without a complaint %+v, judged %v", w.Need, judged)
	}
}
