package tui

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

func TestFormat(t *testing.T) {
	tests := []struct{ got, want string }{
		{quantity(1741.6, "rpm"), "1742 rpm"}, {quantity(18.43, "%"), "18.4 %"}, {quantity(14.12, "V"), "14.1 V"},
		{quantity(math.NaN(), "rpm"), "– rpm"}, {quantity(math.Inf(-1), "°C"), "– °C"}, {quantity(-0.2, "rpm"), "0 rpm"},
		{quantity(-40, "°C"), "-40 °C"}, {quantity(1.234, "λ"), "1.23 λ"}, {quantity(12345678, "s"), "1.23e+07 s"},
		{positive(0, "rpm"), "– rpm"}, {positive(36, "rpm"), "36 rpm"},
		{rate(21.3), "21/s"}, {rate(0.1), "0.1/s"}, {rate(0), "–/s"}, {rate(math.NaN()), "–/s"},
	}
	for _, tt := range tests {
		if tt.got != tt.want {
			t.Errorf("got %q, want %q", tt.got, tt.want)
		}
	}
}

// Text is fitted to exactly the cells that there are, wide characters too.
func TestFitted(t *testing.T) {
	for _, text := range []string{"", "plain", "漢字漢字", "é – ▲", prose.Clean("a\x1b[31m\u0600x")} {
		for w := range 12 {
			for _, fitted := range []string{left(text, w), right(text, w), middle(text, w)} {
				if n := prose.Cells(fitted); n != w {
					t.Errorf("%q fitted to %d cells takes %d", text, w, n)
				}
			}
		}
	}
	if lines := wrapped("one two three four", 9, 2); len(lines) != 2 || lines[0] != "one two" || lines[1] != "three fo…" {
		t.Errorf("wrapped to %q", lines)
	}
}

// Every state, reason, kind and finding has words, and the large letters to write them.
func TestWordsAreComplete(t *testing.T) {
	for _, st := range states {
		if st.word == "" || st.glyph == "" || st.meaning == "" {
			t.Errorf("state %+v lacks a word", st)
		}
		for _, r := range strings.ReplaceAll(st.word, ",", "") {
			if _, ok := font[r]; !ok {
				t.Errorf("no large letter for %q of %q", r, st.word)
			}
		}
		for _, w := range []int{60, 80, 120, 200} {
			if lines := glanceWords(st.word, w, 21); len(lines) < fontRows {
				t.Errorf("%q has no large letters at %d cells", st.word, w)
			}
		}
	}
	for r := detect.Judged; r <= detect.LoadNotLearnt; r++ {
		if n := prose.Cells("   " + standingLine(r)); n < 6 || n > 80 {
			t.Errorf("reason %d takes %d cells of 80", r, n)
		}
	}
	for i, n := range []int{len(stopWords) - int(detect.StopUnseen), len(reasons) - int(detect.LoadNotLearnt),
		len(linkWords) - int(obd.LinkCar)} {
		if n != 1 {
			t.Errorf("table %d of words is not as long as its kinds", i)
		}
	}
	for r, letter := range font {
		for y := range letter {
			if len(letter[y]) != len(letter[0]) {
				t.Errorf("letter %q: row %d is not as wide as the first", r, y)
			}
		}
	}
}

// Kinds that a later version might send must not end the program.
func TestUnknownKinds(t *testing.T) {
	m := still(t, 80, 24, &fakeDrive{now: at(11, 12), replay: false, change: func(s *session.Snapshot) {
		s.Detector.Reason, s.Link.State, s.Phase, s.Verdict.Finding = 200, 200, 200, 200
		s.Stops[0].Kind, s.Observations[0].Kind = 200, 200
		s.Spans[0].Reason, s.Unread = 200, 200
	}})
	checkShape(t, m.View(), 80, 24)
	if got := session.Unread(200).Words(); got != session.UnreadSilent.Words() {
		t.Errorf("%q", got)
	}
}

func TestStateOf(t *testing.T) {
	d := func(r detect.Reason, alarmed, slow bool) detect.State {
		return detect.State{Reason: r, Alarmed: alarmed, Slow: slow}
	}
	tests := []struct {
		name   string
		snap   session.Snapshot
		replay bool
		want   state
	}{
		{"no data yet", session.Snapshot{Phase: session.Connecting}, false, connecting},
		{"lost wins over an alarm", session.Snapshot{Phase: session.LinkLost, Detector: d(detect.Judged, true, false)}, false, linkLost},
		{"finished", session.Snapshot{Phase: session.Finished}, false, done},
		{"alarm wins over slow", session.Snapshot{Phase: session.Running, Detector: d(detect.Judged, true, true)}, false, shudder},
		{"slow", session.Snapshot{Phase: session.Running, Detector: d(detect.Judged, false, true)}, false, surge},
		{"settling in", session.Snapshot{Phase: session.Running, Detector: d(detect.FloorNotLearnt, false, false)}, false, settlingIn},
		{"stopped", session.Snapshot{Phase: session.Running, Detector: d(detect.EngineStopped, false, false)}, false, engineStopped},
		{"coasting", session.Snapshot{Phase: session.Running, Detector: d(detect.ClosedThrottle, false, false)}, false, holdSteady},
		{"a gear changed", session.Snapshot{Phase: session.Running, Detector: d(detect.RatioStepped, false, false)}, false, waiting},
		{"too slow a link", session.Snapshot{Phase: session.Running, Detector: d(detect.TooFewReadings, false, false)}, false, tooSlow},
		{"a belt gearbox", session.Snapshot{Phase: session.Running, Detector: d(detect.NotTied, false, false)}, false, cannotTell},
		{"quiet", session.Snapshot{Phase: session.Running, Detector: d(detect.Judged, false, false)}, false, quiet},
		{"readings stay away", session.Snapshot{Phase: session.Running, Detector: d(detect.LinkGap, false, false)}, false, noReadings},
		{"a gap in a replay", session.Snapshot{Phase: session.Paused, Now: 5, Detector: d(detect.Judged, true, false), Replay: session.ReplayState{Spans: []detect.Span{{End: 9, Reason: detect.LinkGap}}, Events: []detect.Event{{End: 9}}}}, true, noReadings},
		{"within a shudder of a replay", session.Snapshot{Phase: session.Paused, Now: 5, Detector: d(detect.Judged, false, false), Replay: session.ReplayState{Events: []detect.Event{{Start: 5, End: 9}}}}, true, shudder},
		{"paused in a replay", session.Snapshot{Phase: session.Paused, Detector: d(detect.Judged, true, false)}, true, shudder},
		{"replayed to its end", session.Snapshot{Phase: session.Finished}, true, done},
	}
	for _, tt := range tests {
		if got := stateOf(&tt.snap, tt.replay); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, states[got].word, states[tt.want].word)
		}
	}
}

func TestFelt(t *testing.T) {
	e := detect.Event{Start: at(1, 0), End: at(1, 3)}
	for _, tt := range []struct {
		mark session.Mark
		want string
	}{
		{session.Mark{At: at(0, 60.6)}, "felt 0.6 s later"}, {session.Mark{At: at(0, 59.6)}, "felt 0.4 s before"},
		{session.Mark{At: at(0, 65.9), Strength: 2}, "felt 5.9 s later, twice"},
		{session.Mark{At: at(0, 60.6), Strength: 3, Lasted: 2100 * time.Millisecond, Blind: true}, "felt 0.6 s later, three times, for 2.1 s, blind"},
		{session.Mark{At: at(0, 60.6), Lasted: time.Millisecond}, "felt 0.6 s later"},
		{session.Mark{At: at(0, 66.1)}, ""}, {session.Mark{At: at(0, 59.4)}, ""},
	} {
		if got := feltWords(&e, []session.Mark{tt.mark}); got != tt.want {
			t.Errorf("mark at %v: %q, want %q", tt.mark.At, got, tt.want)
		}
	}
	for o := session.Undecided; o <= session.NotJudged; o++ {
		m := session.Mark{At: at(2, 0), Strength: 1, Outcome: o, Why: detect.ThrottleMoving}
		row, own := markRow(m)
		if own != (o != session.Seen) || own && row.text != m.Answer() {
			t.Errorf("outcome %d: own row %v, %q, want the answer %q", o, own, row.text, m.Answer())
		}
	}
	if feltWords(&e, []session.Mark{{At: at(1, 1), Note: "hill"}}) != "" {
		t.Error("a note counts as a felt mark")
	}
}

func TestSpanAt(t *testing.T) {
	spans := []detect.Span{{Start: 0, End: 10, Reason: detect.FloorNotLearnt}, {Start: 10, End: 20}}
	for _, tt := range []struct {
		t    time.Duration
		want bool
		from time.Duration
	}{{0, true, 0}, {9, true, 0}, {10, true, 10}, {19, true, 10}, {20, false, 0}, {-1, false, 0}} {
		sp, ok := spanAt(spans, tt.t)
		if ok != tt.want || ok && sp.Start != tt.from {
			t.Errorf("at %d: %v %v", tt.t, sp, ok)
		}
	}
}

// What a second control unit sends of a signal comes after everything a first one sends.
func TestLaneOrder(t *testing.T) {
	var s session.Snapshot
	for _, l := range [][2]string{{"RPM", "7E9"}, {"LOAD_PCT", "7E9"}, {"AAT", "7E8"}, {"RPM", "7E8"}, {"LOAD_PCT", "7E8"}, {"VSS", "7E9"}} {
		s.Lanes = append(s.Lanes, session.Lane{Signal: pids.Signal(l[0]), ECU: l[1]})
	}
	var got []string
	for _, l := range sortedLanes(nil, &s) {
		got = append(got, strings.TrimSpace(laneName(l, string(l.Signal), &s, 8)))
	}
	if want := []string{"RPM", "VSS", "LOAD_PCT", "AAT", "RPM 7E9", "LOA… 7E9"}; !slices.Equal(got, want) {
		t.Errorf("lanes %q, want %q", got, want)
	}
}

// A ratio is a pure number in steps of 0.001 (SAE J1979, PID A4): whole numbers would hide
// every gear. A count has none.
func TestDigitsOfPureNumbers(t *testing.T) {
	for _, tt := range []struct {
		lane session.Lane
		want string
	}{
		{session.Lane{Value: 2.3712, Step: 0.001}, "2.37"}, {session.Lane{Value: 0.998, Step: 2. / 65536}, "1.00"},
		{session.Lane{Value: 0.5, Step: 0.1}, "0.5"}, {session.Lane{Value: 5, Step: 1}, "5"}, {session.Lane{Value: 5}, "5"},
		{session.Lane{Value: 1742.25, Unit: "rpm", Step: 0.25}, "1742"}, {session.Lane{Value: 1.5, Unit: "bar", Step: 1}, "1.50"},
	} {
		if got := fixed(tt.lane.Value, digitsOf(&tt.lane)); got != tt.want {
			t.Errorf("%v %s in steps of %v: %q, want %q", tt.lane.Value, tt.lane.Unit, tt.lane.Step, got, tt.want)
		}
	}
}

// What the line under the state says of a moment, with its figures.
func TestReasonLine(t *testing.T) {
	gap := session.ReplayState{Spans: []detect.Span{{End: at(0, 10), Reason: detect.LinkGap}}}
	checked := gap
	checked.Checks = []session.CodeCheck{{Start: at(0, 1), End: at(0, 9)}}
	for _, tt := range []struct {
		snap session.Snapshot
		want string
	}{
		{session.Snapshot{Detector: detect.State{Rate: 6, SpeedKMH: 68}}, "quiet so far, but 6.0 readings/s are too few to clear the car (9 needed)"},
		{session.Snapshot{Detector: detect.State{Rate: 9, SpeedKMH: 68, SwingRPM: 46, LimitRPM: 47}}, "steady cruise at 68 km/h: swing below the alarm"},
		{session.Snapshot{Detector: detect.State{Rate: 9, SpeedKMH: 68, SwingRPM: 88, LimitRPM: 47}}, "steady cruise at 68 km/h: swing 88 rpm, but no clear wave"},
		{session.Snapshot{Detector: detect.State{Reason: detect.OutsideBand, SpeedKMH: 116}}, "too fast, at most 115 km/h"},
		{session.Snapshot{Detector: detect.State{Reason: detect.OutsideBand, SpeedKMH: 12}}, "too slow, needs 30 km/h"},
		{session.Snapshot{Detector: detect.State{Reason: detect.OutsideBand}}, "stopped"},
		{session.Snapshot{Detector: detect.State{Reason: detect.TooFewReadings, Rate: 1.2}}, "1.2 readings/s: at least 2.7 are needed"},
		{session.Snapshot{Detector: detect.State{Reason: detect.LinkGap}, Check: session.CheckState{Running: true}}, "code check: engine speed is not read meanwhile"},
		{session.Snapshot{Detector: detect.State{Reason: detect.LinkGap}}, "engine speed is not read: nothing came from the car"},
		{session.Snapshot{Detector: detect.State{Reason: detect.LinkGap}, Unread: session.UnreadWaits}, "engine speed is not read: the car asks to wait"},
		{session.Snapshot{Detector: detect.State{Reason: detect.LinkGap}, Unread: session.UnreadOthers}, "the car gives no engine speed; other readings come"},
		{session.Snapshot{Phase: session.Paused, Now: at(0, 5), Replay: gap}, "0:00:00 to 0:00:10  engine speed was not read"},
		{session.Snapshot{Phase: session.Paused, Now: at(0, 5), Replay: gap, Unread: session.UnreadWaits}, "0:00:00 to 0:00:10  engine speed not read: the car asked to wait"},
		{session.Snapshot{Phase: session.Paused, Now: at(0, 5), Replay: gap, Unread: session.UnreadOthers}, "0:00:00 to 0:00:10  the car gave no engine speed"},
		{session.Snapshot{Phase: session.Paused, Now: at(0, 5), Replay: checked}, "0:00:00 to 0:00:10  code check, engine speed not read"},
	} {
		replay := tt.snap.Phase == session.Paused
		if !replay {
			tt.snap.Phase = session.Running
		}
		got := reasonLine(&tt.snap, stateOf(&tt.snap, replay), replay)
		if got != tt.want || len(prose.WrapText(got, 60-4)) > 2 {
			t.Errorf("%q, want %q", got, tt.want)
		}
	}
}

// A car that was parked all the time did not stop its engine.
func TestStopRowOfAParkedCar(t *testing.T) {
	row := stopRow(detect.Stop{End: at(0, 20), Kind: detect.StopOff, FromStart: true}, at(0, 20))
	if row.what != "engine off" || row.text != "since the beginning, 20 s" {
		t.Errorf("%q: %q", row.what, row.text)
	}
	row = stopRow(detect.Stop{Start: at(1, 0), End: at(1, 20), Kind: detect.StopOff}, at(2, 0)) // by whom is not known
	if row.what != "engine stop" || row.text != "off, 20 s" {
		t.Errorf("%q: %q", row.what, row.text)
	}
	row = stopRow(detect.Stop{End: at(0, 20), Kind: detect.StopRolling, FromStart: true}, at(0, 20))
	if row.what != "engine off" || row.text != "since the beginning, car rolling, 20 s" {
		t.Errorf("%q: %q", row.what, row.text)
	}
}

// A car that says of itself that it gives no engine speed is named on the screen, in the
// narrowest window too.
func TestNoEngineSpeedIsTold(t *testing.T) {
	for _, w := range []int{minWidth, 80} {
		m := still(t, w, 24, &fakeDrive{now: at(10, 53), change: func(s *session.Snapshot) {
			s.Detector.Reason, s.Unread = detect.LinkGap, session.UnreadOthers
			s.Link.Cause = obd.CauseNoSpeed
			s.Link.Text = "the car answers: 7E9; 7E9 is asked alone, ISO 15765-4 (CAN 11/500); it gives no engine speed, so nothing can be judged"
		}})
		view := m.View()
		checkShape(t, view, w, 24)
		text := strings.Join(strings.Fields(view), " ")
		for _, want := range []string{"the car gives no engine speed; other readings come", "the car answers: 7E9; 7E9 is asked alone", "it gives no engine speed, so nothing can be judged"} {
			if !strings.Contains(text, want) {
				t.Errorf("%d cells: no %q on the screen:\n%s", w, want, view)
			}
		}
	}
}

// That the car asks to wait is neither silence nor damage.
func TestLinkHealth(t *testing.T) {
	for want, l := range map[string]session.Link{
		"link: –": {},
		"link: 95 answered, 3 unanswered, 2 damaged":            {Exchanges: 98, Silent: 3, Damaged: 2},
		"link: 81 answered, 3 unanswered, 14 “wait”, 2 damaged": {Exchanges: 98, Silent: 3, Waited: 14, Damaged: 2},
	} {
		if got := linkHealth(&l); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
