package tui

import (
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// Announcing a step says once what to do and what to mind, then leads back by itself; its set-up stays
// as three ticks, and its end says the contrast.
func TestArmAStep(t *testing.T) {
	f := &fakeDrive{now: at(11, 12)}
	m := still(t, 80, 24, f)
	m.now = time.Unix(0, 0)
	press(m, "t")
	if page := m.View(); !strings.Contains(page, "neutral coast") || !strings.Contains(page, "> clutch release") {
		t.Errorf("no list:\n%s", page)
	}
	press(m, "down", "up", "enter")
	if f.armed == nil || *f.armed != steps.ClutchRelease {
		t.Fatalf("announced: %v", f.armed)
	}
	m.pull(time.Unix(1, 0))
	for _, want := range []string{"just enough for the lights", "clear road behind you", "✓ engine warm  ✓ 30 to 115 km/h  ○ throttle steady"} {
		if page := m.View(); !strings.Contains(page, want) {
			t.Errorf("no %q:\n%s", want, page)
		}
	}
	m.pull(time.Unix(30, 0))
	page := m.View()
	if m.page != pageDrive || !strings.Contains(page, "── clutch release ×1: ✓ engine warm  ✓ 30 to 115 km/h  ○ throttle steady ──") {
		t.Errorf("page %d:\n%s", m.page, page)
	}
	if strings.Contains(page, "clear road behind you") {
		t.Error("the caution is said again")
	}
	if !strings.Contains(page, "clutch release  +380 rpm, swing 118 to 9 rpm within 0.4 s") {
		t.Errorf("no row of the step:\n%s", page)
	}
	if press(m, "t", "enter"); f.armed != nil || !strings.Contains(m.View(), "tapped: stopped within 0.4 s, 3 of 3; not tapped: went on for 6.3 s, 3 of 3") {
		t.Errorf("announced %v:\n%s", f.armed, m.View())
	}
	press(m, "t", "down", "enter", "space")
	if m.page != pageDrive || f.felt != 1 || *f.armed != steps.NeutralCoast {
		t.Errorf("page %d, %d marks: a key closes what to do and still does what it does", m.page, f.felt)
	}
}

// A step that does not count says one reason; steps of ordinary driving are no rows.
func TestStepRows(t *testing.T) {
	st := fakeStep
	st.Fault = steps.ThrottleMoved
	if got, want := stepWords(&st), "does not count: the throttle moved; +380 rpm, swing 118 to 9 rpm within 0.4 s"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	a := session.Arming{On: true, Made: 2, Last: st}
	for now, want := range map[time.Duration]string{st.End + time.Second: "clutch release ×2, does not count: the throttle moved", st.End + 20*time.Second: "clutch release ×2: ○ engine warm  ○ engine warm  ○ engine warm"} {
		if got := armingWords(&a, now); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	for _, tt := range []struct {
		st   steps.Step
		want bool
	}{
		{steps.Step{Kind: steps.ThrottleLift, BeforeRPM: 10}, false}, {steps.Step{Kind: steps.ThrottleLift, BeforeRPM: 90}, true},
		{steps.Step{Kind: steps.LowerGear, BeforeRPM: 90, Fault: steps.SpeedMoved}, false}, {steps.Step{Kind: steps.ParkSweep, BeforeRPM: nan, Armed: true}, true},
	} {
		if got := worthARow(&tt.st); got != tt.want {
			t.Errorf("%+v: a row %v", tt.st, got)
		}
	}
}

// The last page and the shell have what the steps of the drive show.
func TestEndingHasTheContrast(t *testing.T) {
	var s session.Snapshot
	f := &fakeDrive{now: at(12, 0)}
	k := steps.ClutchRelease
	f.armed = &k
	f.Snapshot(&s)
	e := endingOfSnapshot(&s)
	if text := strings.Join(e.Lines(80), "\n"); !strings.Contains(text, "test: tapped: stopped within 0.4 s, 1 of 1") {
		t.Errorf("\n%s", text)
	}
	e.Steps[0].Armed = false
	if text := strings.Join(e.Lines(80), "\n"); strings.Contains(text, "test:") {
		t.Errorf("one step that nobody announced:\n%s", text)
	}
}

// A step that says something has its glyph in the strip, over the shudder that it ended.
func TestStepInTheStrip(t *testing.T) {
	var s session.Snapshot
	(&fakeDrive{}).fillCourse(&s, fakeLength)
	quiet := fakeStep
	quiet.Start, quiet.Armed, quiet.BeforeRPM = at(14, 0), false, 5
	axis := timeAxis{first: at(11, 0), per: time.Second, n: 8}
	if got := string(drawStrip(axis, course{spans: s.Spans, events: s.Events, steps: []steps.Step{fakeStep, quiet}})); got != "━━▲▲▲s━━" {
		t.Errorf("%q", got)
	}
	axis.first = at(13, 58)
	if got := string(drawStrip(axis, course{spans: s.Spans, steps: []steps.Step{quiet}})); got != "━━━━━━━━" {
		t.Errorf("a step of ordinary driving: %q", got)
	}
}

// In the smallest window nothing of what to do and what to mind is cut once a step is announced.
func TestStepIsToldWhole(t *testing.T) {
	for k := range steps.Kind(steps.KindCount) {
		m := still(t, minWidth, minHeight, &fakeDrive{now: at(11, 12)})
		press(m, "t")
		m.steps.row = int(k)
		press(m, "enter")
		page := strings.Join(strings.Fields(m.View()), " ")
		for _, want := range []string{k.Todo(), k.Caution()} {
			if !strings.Contains(page, want) {
				t.Errorf("%s: not whole: %q\n%s", k, want, m.View())
			}
		}
	}
}

// What became of a mark or a step fits into its row at 80 cells, whatever the reason.
func TestReasonsFitTheirRows(t *testing.T) {
	const room = 80 - 26
	for why := range detect.Reason(detect.ReasonCount) {
		m := session.Mark{Strength: 1, Outcome: session.NotJudged, Why: why}
		if text := markWords(&m); prose.Cells(text) > room {
			t.Errorf("%d cells: %s", prose.Cells(text), text)
		}
	}
	for fault := steps.Valid + 1; fault.Words() != "not valid"; fault++ {
		st := steps.Step{RPMStep: 380, Fault: fault}
		if reason, _, _ := strings.Cut(stepWords(&st), ";"); !strings.Contains(reason, fault.Words()) || prose.Cells(reason) > room {
			t.Errorf("%d cells: %s", prose.Cells(reason), reason)
		}
	}
}
