package tui

import (
	"io"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/complaint"
)

// startOf is a start page with two ports and some recordings, made up here.
func startOf(recordings int) Start {
	s := Start{Ports: []StartPort{{"/dev/ttyS0", "serial port of the board"}, {"/dev/ttyUSB0", "USB serial adapter"}}, Port: "/dev/ttyUSB0", Bell: true}
	for i := range recordings {
		s.Recordings = append(s.Recordings, StartRecording{Path: "judder-2026-11-" + string(rune('0'+i)) + ".jsonl", When: time.Date(2026, 11, 25, 9, 42-i, 0, 0, time.UTC), Note: "3.1 MB"})
	}
	return s
}

func startAt(s Start, w, h int) *startModel {
	m := newStartModel(s, Options{}, themes(io.Discard, true))
	m.Update(tea.WindowSizeMsg{Width: w, Height: h})
	return m
}

func pressStart(m *startModel, keys ...string) (last tea.Cmd) {
	for _, k := range keys {
		msg, ok := special[k]
		if !ok {
			msg = tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(k)}
		}
		_, last = m.Update(msg)
	}
	return last
}

func TestStartFrames(t *testing.T) {
	trouble := startOf(3)
	trouble.Trouble = "/dev/ttyUSB0: it is in use by another program; close that and try again"
	for _, f := range []struct {
		name  string
		start Start
		w, h  int
		keys  []string
	}{
		{"startpage_80x24", startOf(3), 80, 24, nil},
		{"startpage_trouble_120x40", trouble, 120, 40, []string{"down", "down"}},
		{"startpage_40x16", startOf(8), 40, 16, []string{"pgdown"}},
		{"startpage_refused_80x24", Start{}, 80, 24, []string{"pgdown", "up", "enter", "60-70", "space", "lihgt", "enter"}},
		{"startpage_complaint_80x24", Start{}, 80, 24, []string{"pgdown", "up", "enter", "60-70 km/h", "space", "light"}},
	} {
		t.Run(f.name, func(t *testing.T) {
			m := startAt(f.start, f.w, f.h)
			pressStart(m, f.keys...)
			got := m.View()
			checkShape(t, got, f.w, f.h)
			compareGolden(t, "testdata/"+f.name+".golden", got)
		})
	}
}

func TestStartChoices(t *testing.T) {
	light := complaint.Box{FromKMH: 60, ToKMH: 70, Load: complaint.Light}
	for _, tt := range []struct {
		keys []string
		want Choice
	}{
		{[]string{"enter"}, Choice{Action: StartDrive, Path: "/dev/ttyUSB0", Bell: true}},
		{[]string{"up", "up", "enter"}, Choice{Action: StartDrive, Path: "/dev/ttyS0", Bell: true}},
		{[]string{"down", "enter", "10.0.0.7:35000", "enter"}, Choice{Action: StartDrive, Path: "tcp://10.0.0.7:35000", Bell: true}},
		{[]string{"down", "enter", "tcp://10.0.0.7:35000", "enter"}, Choice{Action: StartDrive, Path: "tcp://10.0.0.7:35000", Bell: true}}, // typed whole, after the tcp:// that is there
		{[]string{"down", "enter", "/dev/rfcomm0", "enter"}, Choice{Action: StartDrive, Path: "/dev/rfcomm0", Bell: true}},
		{[]string{"down", "enter", "com7", "enter"}, Choice{Action: StartDrive, Path: "com7", Bell: true}},
		{[]string{"down", "down", "b", "s", "enter"}, Choice{Action: StartDemo, Sunlight: true}},
		{[]string{"down", "down", "down", "down", "enter"}, Choice{Action: StartReplay, Path: "judder-2026-11-1.jsonl", Bell: true}},
		{[]string{"pgdown", "up", "enter", "60-70 km/h", "space", "light", "enter", "home", "enter"}, Choice{Action: StartDrive, Path: "/dev/ttyS0", Bell: true, Complaint: light}},
		{[]string{"pgdown", "up", "enter", "60-70", "esc", "q"}, Choice{Bell: true}},
		{[]string{"q"}, Choice{Bell: true}}, {[]string{"ctrl+c"}, Choice{Bell: true}},
	} {
		m := startAt(startOf(3), 80, 24)
		if cmd := pressStart(m, tt.keys...); cmd == nil || cmd() != tea.Quit() {
			t.Errorf("%v: the page stays", tt.keys)
		}
		if m.choice != tt.want {
			t.Errorf("%v: %+v, want %+v", tt.keys, m.choice, tt.want)
		}
	}
}

// A complaint that cannot be read is said and stays to be mended; an empty one is none.
func TestStartComplaint(t *testing.T) {
	m := startAt(startOf(0), 80, 24)
	pressStart(m, "pgdown", "up", "enter", "fast", "enter")
	if m.entry.ask == "" || m.said == "" || !m.choice.Complaint.IsZero() {
		t.Errorf("asked %q, said %q, %+v", m.entry.ask, m.said, m.choice.Complaint)
	}
	pressStart(m, "backspace", "backspace", "backspace", "backspace", "cold", "enter")
	if want := (complaint.Box{Engine: complaint.Cold}); m.choice.Complaint != want || !strings.Contains(m.View(), "cold") {
		t.Errorf("%+v:\n%s", m.choice.Complaint, m.View())
	}
	if pressStart(m, "enter", "backspace", "backspace", "backspace", "backspace", "enter"); !m.choice.Complaint.IsZero() {
		t.Errorf("not taken back: %+v", m.choice.Complaint)
	}
}

// The bell test rings, bell on or off, and says what to do where it is not heard.
func TestStartBell(t *testing.T) {
	m := startAt(startOf(0), 80, 24)
	rang := 0
	m.ring = func() { rang++ }
	for range 2 {
		if cmd := pressStart(m, "pgdown", "enter"); cmd != nil {
			cmd()
		}
		if !strings.Contains(m.View(), "not heard?") {
			t.Errorf("nothing is said:\n%s", m.View())
		}
		pressStart(m, "b")
	}
	if rang != 2 {
		t.Errorf("rang %d times", rang)
	}
}

// Whatever the folder and the computer hold: nothing that a terminal would obey, the cursor in sight.
func TestStartHostile(t *testing.T) {
	const bad = "\x1b[2J\u009b31m\u202e漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字\r\n"
	s := startOf(8)
	s.Trouble, s.Ports[0] = bad, StartPort{bad, bad}
	s.Recordings[2].Path, s.Recordings[3].Note = bad, bad
	for _, size := range [][2]int{{40, 16}, {60, 18}, {80, 24}, {120, 40}} {
		m := startAt(s, size[0], size[1])
		pressStart(m, "home")
		for range len(m.rows) {
			page := m.View()
			checkShape(t, page, size[0], size[1])
			if strings.Count(page, "\n > ") != 1 {
				t.Errorf("no cursor in %v:\n%s", size, page)
			}
			pressStart(m, "down")
		}
	}
}

// A long name gives way in its middle: no row loses what it says, and the end of a name tells recordings
// apart.
func TestStartLongNames(t *testing.T) {
	s := startOf(2)
	const long = "judder-2026-11-25-customer-4711-blue-estate-after-fluid-exchange-"
	s.Recordings[0].Path, s.Recordings[1].Path = long+"1.jsonl", long+"2.jsonl"
	for _, w := range []int{80, 120} {
		m := startAt(s, w, 24)
		page := m.View()
		checkShape(t, page, w, 24)
		for i := range m.rows {
			if !strings.Contains(page, m.rows[i].text) {
				t.Errorf("at %d cells %q is cut:\n%s", w, m.rows[i].text, page)
			}
		}
		if !strings.Contains(page, "exchange-1.jsonl  ") || !strings.Contains(page, "exchange-2.jsonl  ") {
			t.Errorf("at %d cells the names look the same:\n%s", w, page)
		}
	}
}

// The caution stays until a key is pressed or the car moves: a standing car's readings do not close it.
func TestCautionStays(t *testing.T) {
	f := &fakeDrive{now: at(0, 20), change: func(s *session.Snapshot) { roadSpeed(s, 0) }}
	m := still(t, 80, 24, f)
	if m.page != pageStart || !strings.Contains(m.View(), "Obey traffic law") {
		t.Errorf("the caution went while the car stood:\n%s", m.View())
	}
	if press(m, "enter"); m.page != pageDrive || f.felt != 0 {
		t.Errorf("enter on the caution: page %d, %d marks", m.page, f.felt)
	}
	m.page = pageStart
	f.change = nil
	if m.pull(m.now); m.page != pageDrive {
		t.Error("the caution stays though the car moves")
	}
}

// A check page that was not started goes when the car drives off; one that was opened on the move stays.
func TestCheckPageLeavesByItself(t *testing.T) {
	for _, tt := range []struct {
		name        string
		stands, was bool
		want        page
	}{{"drives off", true, false, pageDrive}, {"a result is shown", true, true, pageCheck}, {"opened on the move", false, false, pageCheck}} {
		f := &fakeDrive{now: at(11, 20), change: func(s *session.Snapshot) {
			if s.Check.Asked = tt.was; tt.stands {
				roadSpeed(s, 0)
			}
		}}
		m := still(t, 80, 24, f)
		press(m, "c")
		m.pull(m.now)
		tt.stands = false
		m.pull(m.now)
		if m.page != tt.want {
			t.Errorf("%s: page %d, want %d", tt.name, m.page, tt.want)
		}
	}
}

// roadSpeed makes road speed what it is, all along.
func roadSpeed(s *session.Snapshot, kmh float64) {
	for i := range s.Lanes {
		if l := &s.Lanes[i]; l.Signal == pids.VSS {
			l.Value = kmh
			for k := range l.History {
				l.History[k].Value = kmh
			}
		}
	}
}
