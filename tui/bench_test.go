package tui

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/session"
)

// Zoom keeps the cursor where it is in the picture, and the axis fits what is drawn.
func TestZoomKeepsTheCursor(t *testing.T) {
	f := &fakeDrive{now: burstStart + time.Second, replay: true}
	m := still(t, 80, 24, f)
	c := &m.pictures.wave.now.cut
	share := func() float64 { return float64(m.cursor-c.From) / float64(c.To-c.From) }
	was := share()
	for _, s := range []struct {
		key  string
		want time.Duration
	}{{"z", 4 * time.Second}, {"z", 2 * time.Second}, {"z", time.Second}, {"z", time.Second}, {"Z", 2 * time.Second}, {"Z", 4 * time.Second}, {"Z", 8 * time.Second}} {
		press(m, s.key)
		m.pull(m.now)
		if c.To-c.From != s.want {
			t.Errorf("%s: the picture spans %v, want %v", s.key, c.To-c.From, s.want)
		}
		if d := share() - was; d > 0.001 || d < -0.001 {
			t.Errorf("%s: the cursor moved from %.3f to %.3f of the picture", s.key, was, share())
		}
		if strings.Count(m.View(), "┤") < 5 || !strings.Contains(m.View(), "0:11:0") {
			t.Errorf("%s:\n%s", s.key, m.View())
		}
	}
	for range 9 {
		press(m, "shift+right")
		m.pull(m.now)
		if m.cursor < c.From || m.cursor > c.To {
			t.Fatalf("the cursor at %v left the picture %v to %v", m.cursor, c.From, c.To)
		}
	}
	press(m, "up", "up")
	press(m, "w")
	if m.pull(m.now); !m.pictures.wave.now.ofEvent {
		t.Error("w does not show the event whole")
	}
}

// Two cursors give time, the frequency that it would be, and the difference of the readings that held
// there: 263 ms are half a cycle of the fake burst at 1.9 Hz, from its top to its bottom.
func TestSecondCursor(t *testing.T) {
	f := &fakeDrive{now: burstStart + 131*time.Millisecond, replay: true}
	m := still(t, 80, 24, f)
	press(m, "x")
	f.now += 263 * time.Millisecond
	m.pull(m.now)
	a, ok := valueAt(m.snap.Replay.Course.RPM, burstStart+131*time.Millisecond)
	b, also := valueAt(m.snap.Replay.Course.RPM, f.now)
	if !ok || !also || b-a > -100 {
		t.Fatalf("engine speed %v, %v", a, b)
	}
	if page := m.View(); !strings.Contains(page, "x to cursor 0.26 s (3.80 Hz), "+fixed(b-a, 0)+" rpm") {
		t.Errorf("%v:\n%s", b-a, page)
	}
	if press(m, "x"); strings.Contains(m.View(), "x to cursor") {
		t.Error("x does not take the second cursor away")
	}
	if _, ok := valueAt(m.snap.Replay.Course.RPM, gapStart+2*time.Second); ok {
		t.Error("a value within a gap")
	}
}

// The list holds what happened before and after the cursor; enter goes there.
func TestEventList(t *testing.T) {
	f := &fakeDrive{now: at(8, 31), replay: true}
	m := still(t, 80, 24, f)
	press(m, "enter")
	page := m.View()
	for _, what := range []string{"slow surge", "note", "mark", "engine stop", "link lost", "shudder"} {
		if !strings.Contains(page, what) {
			t.Errorf("no %s in the list:\n%s", what, page)
		}
	}
	if m.events.rows[m.events.at].at != at(8, 30) {
		t.Errorf("chosen at first: %v", m.events.rows[m.events.at])
	}
	if press(m, "end", "enter"); m.page != pageDrive || len(f.seeks) != 1 || f.seeks[0] != burstStart {
		t.Errorf("page %d, seeks %v", m.page, f.seeks)
	}
	press(m, "enter", "home", "up", "space")
	if m.page != pageEvents || f.felt != 1 || m.events.at != 0 {
		t.Errorf("page %d, %d marks, row %d", m.page, f.felt, m.events.at)
	}
	if press(m, "esc"); m.page != pageDrive {
		t.Error("esc does not close the list")
	}
	empty := still(t, 80, 24, &fakeDrive{now: at(1, 0), replay: true, change: func(s *session.Snapshot) { s.Replay = session.ReplayState{Length: time.Minute} }})
	if press(empty, "enter", "down", "enter"); empty.page != pageDrive {
		t.Error("an empty list does not close")
	}
}

// The window on the screen is what is exported; the screen says where it is, or why not.
func TestExportWindow(t *testing.T) {
	f := &fakeDrive{now: burstStart + time.Second, replay: true}
	m := still(t, 80, 24, f)
	if press(m, "e"); !strings.Contains(m.View(), "nothing to export") {
		t.Error("nothing is said without an exporter")
	}
	var from, to time.Duration
	var fails error
	m.export = func(a, b time.Duration) (string, error) { from, to = a, b; return "x.csv", fails }
	m.Update(press(m, "e")())
	if c := &m.pictures.wave.now.cut; from != c.From || to != c.To || !strings.Contains(m.View(), "written: x.csv") {
		t.Errorf("%v to %v:\n%s", from, to, m.View())
	}
	fails = errors.New("the disk is full\x1b[2J")
	if m.Update(press(m, "e")()); !strings.Contains(m.View(), "not exported: the disk is full") {
		t.Errorf("\n%s", m.View())
	}
	checkShape(t, m.View(), 80, 24)
}

// A replay ends with a page too: the finding of the whole recording.
func TestReplayEndPage(t *testing.T) {
	f := &fakeDrive{now: at(5, 0), replay: true, change: func(s *session.Snapshot) {
		whole := session.Result{Duration: fakeLength, Events: s.Replay.Events, Headline: session.Headline{Word: "SHUDDER SEEN", Reason: "in 1 pass"}}
		s.Replay.Whole = &whole
	}}
	m := still(t, 80, 24, f)
	if cmd := press(m, "q"); cmd != nil || m.page != pageEnd {
		t.Fatalf("page %d", m.page)
	}
	page := m.View()
	checkShape(t, page, 80, 24)
	for _, want := range []string{"SHUDDER SEEN: in 1 pass", "driven 0:45:00", "Recording: ", "judder review"} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q:\n%s", want, page)
		}
	}
	if press(m, "esc"); m.page != pageDrive {
		t.Error("esc does not lead back")
	}
	if press(m, "q"); press(m, "q") == nil {
		t.Error("q pressed again does not leave")
	}
}
