package tui

import (
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/slip"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/complaint"
)

var nan = math.NaN()

var update = flag.Bool("update", false, "write the golden frames")

// frames are the golden frames, each a picture in testdata.
var frames = []struct {
	name   string
	w, h   int
	now    time.Duration
	replay bool
	keys   string // pressed before the frame, one a letter; "T" is tab, "E" enter
	change func(*session.Snapshot)
}{
	{name: "live_quiet_80x24", w: 80, h: 24, now: at(11, 12)},
	{name: "live_quiet_120x40", w: 120, h: 40, now: at(11, 12)},
	{name: "live_quiet_60x18", w: 60, h: 18, now: at(11, 12)},
	{name: "live_shudder_80x24", w: 80, h: 24, now: at(11, 5), change: alarm},
	{name: "live_shudder_120x40", w: 120, h: 40, now: at(11, 5), change: alarm},
	{name: "live_frozen_80x24", w: 80, h: 24, now: at(11, 12.5), change: frozen},
	{name: "live_frozen_120x40", w: 120, h: 40, now: at(12, 30), change: frozen},
	{name: "live_frozen_60x24", w: 60, h: 24, now: at(11, 12.5), change: frozen},
	{name: "live_shudder_60x18", w: 60, h: 18, now: at(11, 5), change: alarm},
	{name: "live_shudder_40x16", w: 40, h: 16, now: at(11, 5), change: alarm},
	{name: "live_quiet_40x24", w: 40, h: 24, now: at(11, 12.5)},
	{name: "live_few_80x24", w: 80, h: 24, now: at(11, 5), change: few},
	{name: "replay_event_80x24", w: 80, h: 24, now: at(11, 3), replay: true},
	{name: "replay_event_120x40", w: 120, h: 40, now: at(11, 3), replay: true},
	{name: "replay_event_40x18", w: 40, h: 18, now: at(11, 3), replay: true},
	{name: "end_80x24", w: 80, h: 24, now: at(11, 40), keys: "q", change: func(s *session.Snapshot) { s.Phase = session.Finished }},
	{name: "end_120x40", w: 120, h: 40, now: at(11, 40), keys: "q", change: func(s *session.Snapshot) { s.Phase = session.Finished }},
	{name: "end_40x24", w: 40, h: 24, now: at(11, 40), keys: "q", change: func(s *session.Snapshot) { s.Phase = session.Finished }},
	{name: "live_slip_80x24", w: 80, h: 24, now: at(11, 5), change: slipRead},
	{name: "live_slip_120x40", w: 120, h: 40, now: at(11, 5), change: slipRead},
	{name: "live_gear_slip_80x24", w: 80, h: 24, now: at(11, 12), change: slipByGear},
	{name: "live_gear_slip_120x40", w: 120, h: 40, now: at(11, 12), change: slipByGear},
	{name: "live_surge_80x24", w: 80, h: 24, now: at(11, 40), change: detector(func(d *detect.State) { d.Slow, d.SlowHz, d.SwingRPM = true, 0.4, 41 })},
	{name: "live_settling_in_80x24", w: 80, h: 24, now: at(4, 30), change: reason(detect.FloorNotLearnt)},
	{name: "live_hold_steady_80x24", w: 80, h: 24, now: at(6, 30), change: reason(detect.ThrottleMoving)},
	{name: "glance_too_slow_80x24", w: 80, h: 24, now: at(6, 30), keys: "g", change: detector(func(d *detect.State) {
		d.Reason, d.Rate, d.SwingRPM, d.LimitRPM, d.SmallestRPM = detect.TooFewReadings, 1.2, nan, nan, nan
	})},
	{name: "live_stopped_80x24", w: 80, h: 24, now: at(9, 50), change: reason(detect.EngineStopped)},
	{name: "live_gap_80x24", w: 80, h: 24, now: at(10, 53.9), change: reason(detect.LinkGap)},
	{name: "live_lost_80x24", w: 80, h: 24, now: at(10, 53.9), change: lost},
	{name: "live_lost_60x18", w: 60, h: 18, now: at(10, 53.9), change: lost},
	{name: "live_lost_120x40", w: 120, h: 40, now: at(10, 53.9), change: lost},
	{name: "start_lost_60x18", w: 60, h: 18, now: at(0, 3), change: func(s *session.Snapshot) {
		unconnected(s)
		s.Link.Reason.Cause = obd.CauseCarSilent
	}},
	{name: "glance_lost_80x24", w: 80, h: 24, now: at(10, 53.9), keys: "g", change: lost},
	{name: "glance_finished_60x18", w: 60, h: 18, now: at(44, 59), keys: "g", change: longFinding},
	{name: "replay_lost_80x24", w: 80, h: 24, now: at(10, 53.9), replay: true, change: lost},
	{name: "replay_gap_60x18", w: 60, h: 18, now: at(10, 51), replay: true, change: func(s *session.Snapshot) { s.Losses, s.Detector.Reason = nil, detect.EngineStopped }},
	{name: "replay_finished_80x24", w: 80, h: 24, now: fakeLength, replay: true, change: longFinding},
	{name: "replay_finished_60x18", w: 60, h: 18, now: fakeLength, replay: true, change: longFinding},
	{name: "live_finished_60x18", w: 60, h: 18, now: at(44, 59), change: longFinding},
	{name: "live_finished_80x24", w: 80, h: 24, now: at(44, 59), change: func(s *session.Snapshot) { s.Phase = session.Finished }},
	{name: "live_cannot_tell_80x24", w: 80, h: 24, now: at(44, 59), change: func(s *session.Snapshot) {
		s.Phase, s.Verdict = session.Finished, detect.Verdict{Reason: "only 29 s with enough readings in 11 passes (of 1:12 min usable); at least 30 s in 3 passes are needed to clear the car"}
	}},
	{name: "live_trouble_80x24", w: 80, h: 24, now: at(11, 12), change: stopped},
	{name: "live_trouble_60x18", w: 60, h: 18, now: at(11, 12), change: stopped},
	{name: "live_hostile_80x24", w: 80, h: 24, now: at(11, 12), change: hostile},
	{name: "live_felt_80x24", w: 80, h: 24, now: at(11, 12), keys: " "},
	{name: "blind_80x24", w: 80, h: 24, now: at(11, 5), change: func(s *session.Snapshot) { alarm(s); s.Blind.On = true }},
	{name: "blind_40x16", w: 40, h: 16, now: at(11, 5), change: func(s *session.Snapshot) { alarm(s); s.Blind.On = true }},
	{name: "live_complaint_80x24", w: 80, h: 24, now: at(11, 20), change: complained},
	{name: "live_complaint_120x40", w: 120, h: 40, now: at(11, 40), change: complained},
	{name: "end_complaint_80x24", w: 80, h: 24, now: at(11, 40), keys: "q", change: func(s *session.Snapshot) {
		complained(s)
		s.Phase, s.Blind = session.Finished, session.BlindState{Passes: 1, Marks: 5, Hits: 4, Share: 0.12, Judged: 190 * time.Second, Chance: 0.0009}
	}},
	{name: "steps_80x24", w: 80, h: 24, now: at(11, 12), keys: "t"},
	{name: "steps_told_80x24", w: 80, h: 24, now: at(11, 12), keys: "tE"},
	{name: "steps_40x16", w: 40, h: 16, now: at(11, 12), keys: "t"},
	{name: "steps_told_40x16", w: 40, h: 16, now: at(11, 12), keys: "tjE"},
	{name: "live_armed_80x24", w: 80, h: 24, now: at(11, 12), change: armed},
	{name: "live_armed_120x40", w: 120, h: 40, now: at(11, 12), change: armed},
	{name: "live_armed_60x24", w: 60, h: 24, now: at(11, 40), change: armed},
	{name: "live_complaint_40x24", w: 40, h: 24, now: at(11, 40), change: complained},
	{name: "coverage_80x24", w: 80, h: 24, now: at(11, 40), keys: "v", change: complained},
	{name: "coverage_40x16", w: 40, h: 16, now: at(11, 40), keys: "v"},
	{name: "live_note_80x24", w: 80, h: 24, now: at(11, 12), keys: "nlight climb"},
	{name: "start_80x24", w: 80, h: 24, now: at(0, 3), change: unconnected},
	{name: "start_120x40", w: 120, h: 40, now: at(0, 3), change: unconnected},
	{name: "connecting_80x24", w: 80, h: 24, now: at(0, 3), keys: "z", change: unconnected},
	{name: "signals_80x24", w: 80, h: 24, now: at(11, 12), keys: "Tjjx"},
	{name: "signals_60x18", w: 60, h: 18, now: at(11, 12), keys: "T", change: func(s *session.Snapshot) {
		for len(s.Lanes) < 13 {
			s.Lanes = append(s.Lanes, session.Lane{Signal: pids.Signal("X" + string(rune('A'+len(s.Lanes)))), ECU: "7E8", Value: nan})
		}
	}},
	{name: "live_missing_80x24", w: 80, h: 24, now: at(11, 12), change: missing},
	{name: "signals_missing_80x24", w: 80, h: 24, now: at(11, 12), keys: "T", change: missing},
	{name: "signals_missing_60x18", w: 60, h: 18, now: at(11, 12), keys: "T", change: missing},
	{name: "signal_hidden_80x24", w: 80, h: 24, now: at(11, 12), keys: "TjjxT"},
	{name: "help_live_80x24", w: 80, h: 24, now: at(11, 12), keys: "?"},
	{name: "help_live_2_80x24", w: 80, h: 24, now: at(11, 12), keys: "??"},
	{name: "help_replay_80x24", w: 80, h: 24, now: at(11, 12), keys: "?", replay: true},
	{name: "help_replay_120x40", w: 120, h: 40, now: at(11, 12), keys: "?", replay: true},
	{name: "glance_quiet_80x24", w: 80, h: 24, now: at(11, 12), keys: "g"},
	{name: "glance_shudder_120x40", w: 120, h: 40, now: at(11, 5), keys: "g", change: alarm},
	{name: "glance_connecting_60x18", w: 60, h: 18, now: at(0, 3), keys: "g", change: unconnected},
	{name: "check_80x24", w: 80, h: 24, now: at(11, 12), keys: "c"},
	{name: "check_read_80x24", w: 80, h: 24, now: at(11, 12), keys: "c", change: checked},
	{name: "check_read_120x40", w: 120, h: 40, now: at(11, 12), keys: "cj", change: checked},
	{name: "replay_80x24", w: 80, h: 24, now: at(11, 6), replay: true},
	{name: "replay_120x40", w: 120, h: 40, now: at(11, 6), replay: true},
	{name: "replay_paused_80x24", w: 80, h: 24, now: at(6, 0), replay: true, change: func(s *session.Snapshot) {
		s.Replay.Paused, s.Detector.Reason, s.Replay.Damage = true, detect.ThrottleMoving, "last line torn"
	}},
	{name: "replay_events_80x24", w: 80, h: 24, now: at(11, 3), replay: true, keys: "E"},
	{name: "replay_zoom_120x40", w: 120, h: 40, now: at(11, 3), replay: true, keys: "zx"},
	{name: "replay_end_80x24", w: 80, h: 24, now: at(11, 3), replay: true, keys: "q"},
	{name: "too_small_39x15", w: 39, h: 15, now: at(11, 12)},
	{name: "too_small_12x3", w: 12, h: 3, now: at(11, 12)},
}

// checked is a car after its code check; the text holds what a car may put there.
func checked(s *session.Snapshot) {
	s.Check = session.CheckState{Asked: true, At: at(11, 2), Lines: strings.Split("code check of 2026-11-25 14:00\n  bus       ISO 15765-4 (CAN 11/500)\n\n"+
		"what to do first, and why:\n  1.   Converter clutch and what controls it: P0741\n\n7E8  ECM\x1b[2J-EngineControl\n  P0741     stored    converter clutch performance or stuck off\n"+
		strings.Repeat("  a line\n", 40), "\n")}
}

// armed is a drive in which a step was announced and made.
func armed(s *session.Snapshot) {
	k := steps.ClutchRelease
	(&fakeDrive{armed: &k}).fillSteps(s, s.Now)
}

// complained is a drive with a complaint.
func complained(s *session.Snapshot) {
	s.Complaint = complaint.Box{FromKMH: 60, ToKMH: 70, Load: complaint.Light, Engine: complaint.Warm}
}

func alarm(s *session.Snapshot) {
	s.Detector.Alarmed, s.Detector.SwingRPM = true, burstRPM
	s.Apparent.SlipRPM = 60
}

// slipRead is an alarm in a car with slip and wanted slip in its profile.
func slipRead(s *session.Snapshot) {
	alarm(s)
	s.Lanes = append(s.Lanes, slipLane(s.Now, "TCC_SLIP", vehicle.RoleSlip, func(t float64) float64 {
		if t < burstStart.Seconds() {
			return 22 + 3*math.Sin(t*2)
		}
		return 60 + 45*math.Sin(2*math.Pi*burstHz*t)
	}), slipLane(s.Now, "TCC_WANT", vehicle.RoleWantedSlip, func(float64) float64 { return 20 }))
	s.Slip = append(s.Slip, slip.Swing{Start: burstStart + 100*time.Millisecond, End: s.Now, SwingRPM: 88, MeanRPM: 58, WantedRPM: 20, Readings: 14})
}

// slipByGear is a car that reports its gear's ratio, some seconds after a swing.
func slipByGear(s *session.Snapshot) {
	s.Apparent.GearKnown, s.Apparent.SlipRPM = true, 37
	l := slipLane(s.Now, session.LaneApparent, vehicle.RoleSlip, func(t float64) float64 {
		if t < burstStart.Seconds() {
			return 2 * math.Sin(t*2)
		}
		return 37
	})
	s.Lanes = append(s.Lanes, l)
	s.Slip = append(s.Slip, slip.Swing{Start: burstStart, End: burstEnd, SwingRPM: 110, MeanRPM: 62, WantedRPM: nan, ApparentRPM: 15})
}

// stopped is a drive after its recording stopped.
func stopped(s *session.Snapshot) {
	s.Trouble = "recording to drive.jsonl stopped after 11 min 4.0 s: the disk is full; what was written before is kept"
	s.Stopped = session.RecordingStop{At: at(11, 4), Cause: "the disk is full"}
}

// missing is a car that does not give all that its profile names.
func missing(s *session.Snapshot) {
	s.Missing = []session.Missing{{Signal: "SLIP", Since: at(0, 4), Way: session.MissingRefused, Refusal: 0x31}}
	for _, name := range []pids.Signal{"SLIP_WANTED", "NT", "FLUID", "CLUTCH"} {
		s.Missing = append(s.Missing, session.Missing{Signal: name, Since: at(11, 7), Way: session.MissingNoWay})
	}
}

func slipLane(now time.Duration, signal pids.Signal, role vehicle.Role, value func(t float64) float64) session.Lane {
	l := session.Lane{Signal: signal, ECU: "7E9", Name: "converter slip", Unit: "rpm", Role: role, Rate: 5}
	for t := now - 2*time.Minute; t <= now; t += 200 * time.Millisecond {
		l.Value, l.At = value(t.Seconds()), t
		l.History = append(l.History, session.Point{At: t, Value: l.Value})
	}
	return l
}

func detector(f func(*detect.State)) func(*session.Snapshot) {
	return func(s *session.Snapshot) { f(&s.Detector) }
}

func reason(r detect.Reason) func(*session.Snapshot) {
	state := detector(func(d *detect.State) {
		d.Reason, d.SwingRPM, d.SmallestRPM = r, nan, nan
		if r == detect.FloorNotLearnt {
			d.LimitRPM = nan
		}
	})
	return func(s *session.Snapshot) {
		state(s)
		s.Apparent = noSlip
	}
}

// noSlip is estimated slip that is not known.
var noSlip = slip.ApparentSlip{SlipRPM: nan, PlusMinusRPM: nan, LockedRPM: nan}

func lost(s *session.Snapshot) {
	reason(detect.LinkGap)(s)
	s.Phase = session.LinkLost
	s.Link.State, s.Link.Text = obd.LinkOpening, "opening /dev/ttyUSB0"
	s.Link.Reason.Cause = obd.CauseNoHost
	s.Detector.SteadyFor, s.Detector.Rate = 0, 0
	for i := range s.Lanes {
		s.Lanes[i].Value, s.Lanes[i].Rate = nan, 0
	}
	if n := len(s.Losses); n > 0 {
		s.Losses[n-1].Open = true
	}
}

// longFinding is the longest verdict that the detector gives.
func longFinding(s *session.Snapshot) {
	s.Phase, s.Verdict = session.Finished, detect.Verdict{Reason: "rough running in 12 passes: a misfire, a rough road, or a clutch that grabs irregularly; these readings do not show which"}
}

func unconnected(s *session.Snapshot) {
	*s = session.Snapshot{Now: s.Now, Recording: s.Recording, Apparent: noSlip, Detector: detect.State{SwingRPM: nan, LimitRPM: nan, SmallestRPM: nan, SpeedKMH: nan}}
	s.Link = session.Link{State: obd.LinkOpening}
}

// hostile puts what a faulty link, a crafted file and a careless user can send everywhere a
// text is shown.
func hostile(s *session.Snapshot) {
	const bad = "\x1b[2J\x1b]0;x\a\u009b31m\u202etxt\r\n\t\x00\xff漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字"
	s.Recording, s.Trouble, s.Link.Text, s.Link.Source, s.Replay.Damage, s.Verdict.Reason = bad, bad, bad, bad, bad, bad
	for i := range s.Lanes {
		s.Lanes[i].Name, s.Lanes[i].Unit, s.Lanes[i].ECU = bad, bad, bad
	}
	s.Lanes[0].Signal = bad
	s.Marks = append(s.Marks, session.Mark{At: s.Now, Note: bad})
	s.Stopped = session.RecordingStop{At: s.Now, Cause: bad}
	s.Missing = append(s.Missing, session.Missing{Signal: bad, Way: session.MissingSilent, Since: s.Now})
}

func still(t testing.TB, w, h int, f *fakeDrive) *model {
	t.Helper()
	m := newModel(f.shown(), Options{Bell: true}, themes(io.Discard, true))
	m.Update(tea.WindowSizeMsg{Width: w, Height: h})
	m.pull(time.Unix(0, 0))
	return m
}

// frozen is a drive without a gap in which the shudder of the fake drive is over.
func frozen(s *session.Snapshot) { s.Losses = nil }

// few leaves one reading of engine speed in five: 4.3 a second.
func few(s *session.Snapshot) {
	alarm(s)
	for i := range s.Lanes {
		if l := &s.Lanes[i]; l.Signal == pids.RPM {
			var kept []session.Point
			for k := 0; k < len(l.History); k += 5 {
				kept = append(kept, l.History[k])
			}
			l.History, l.Rate = kept, 4.3
		}
	}
}

func pressAll(m *model, keys string) {
	for _, r := range keys {
		k := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}}
		switch r {
		case ' ':
			k = tea.KeyMsg{Type: tea.KeySpace, Runes: []rune{' '}}
		case 'E':
			k = tea.KeyMsg{Type: tea.KeyEnter}
		case 'T':
			k = tea.KeyMsg{Type: tea.KeyTab}
		}
		m.Update(k)
	}
}

func TestFrames(t *testing.T) {
	for _, f := range frames {
		t.Run(f.name, func(t *testing.T) {
			m := still(t, f.w, f.h, &fakeDrive{now: f.now, replay: f.replay, change: f.change})
			pressAll(m, f.keys)
			got := m.View()
			checkShape(t, got, f.w, f.h)
			compareGolden(t, filepath.Join("testdata", f.name+".golden"), got)
		})
	}
}

// checkShape holds a frame against its window: as many lines as rows, no line wider, nothing
// that a terminal would obey.
func checkShape(t *testing.T, frame string, w, h int) {
	t.Helper()
	lines := strings.Split(frame, "\n")
	if len(lines) != h {
		t.Errorf("%d lines in a window of %d rows", len(lines), h)
	}
	for i, l := range lines {
		if n := prose.Cells(l); n > w {
			t.Errorf("line %d is %d cells wide in a window of %d: %q", i+1, n, w, l)
		}
		if prose.Clean(l) != l {
			t.Errorf("line %d holds a character that is not fit for a terminal: %q", i+1, l)
		}
	}
}

func compareGolden(t *testing.T, file, got string) {
	t.Helper()
	lines := strings.Split(got, "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	got = strings.Join(lines, "\n") + "\n"
	if *update {
		if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatalf("%v; go test ./tui -update writes it", err)
	}
	if got != string(want) {
		t.Errorf("frame differs from %s; go test ./tui -update writes it\ngot:\n%s\nwant:\n%s", file, got, want)
	}
}
