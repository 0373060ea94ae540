package tui

import (
	"reflect"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session"
)

var special = map[string]tea.KeyMsg{
	"space": {Type: tea.KeySpace, Runes: []rune{' '}}, "tab": {Type: tea.KeyTab}, "esc": {Type: tea.KeyEsc},
	"left": {Type: tea.KeyLeft}, "right": {Type: tea.KeyRight}, "up": {Type: tea.KeyUp}, "down": {Type: tea.KeyDown},
	"shift+left": {Type: tea.KeyShiftLeft}, "shift+right": {Type: tea.KeyShiftRight}, "home": {Type: tea.KeyHome}, "end": {Type: tea.KeyEnd},
	"ctrl+c": {Type: tea.KeyCtrlC}, "enter": {Type: tea.KeyEnter}, "backspace": {Type: tea.KeyBackspace},
	"pgup": {Type: tea.KeyPgUp}, "pgdown": {Type: tea.KeyPgDown},
}

func press(m *model, keys ...string) (last tea.Cmd) {
	for _, k := range keys {
		msg, ok := special[k]
		if !ok {
			msg = tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(k)}
		}
		_, last = m.Update(msg)
	}
	return last
}

func TestKeysInADrive(t *testing.T) {
	f := &fakeDrive{now: at(11, 12)}
	m := still(t, 80, 24, f)
	press(m, "space", "space")
	if f.felt != 2 {
		t.Errorf("two presses of space made %d felt marks", f.felt)
	}
	if !strings.Contains(m.View(), "felt at 0:11:12") {
		t.Error("a felt mark is not answered on the screen")
	}
	press(m, "n", "hill", "space", "up", "2x", "backspace", "enter")
	if want := []string{"hill 2"}; !reflect.DeepEqual(f.notes, want) {
		t.Errorf("notes %q, want %q", f.notes, want)
	}
	press(m, "n", "no", "esc", "n", "enter", "n", "\x1b[2Jx\u009b", "enter")
	if want := []string{"hill 2", "?[2Jx?"}; !reflect.DeepEqual(f.notes, want) {
		t.Errorf("notes %q, want %q", f.notes, want)
	}
	if f.felt != 2 {
		t.Error("space within a note marked")
	}
	press(m, "p", ".", "+", "home", "left", "up")
	if len(f.pauses)+len(f.seeks)+len(f.speeds) != 0 {
		t.Error("keys of the bench work in a drive")
	}
}

// Two quick presses of space over a slow connection are two felt marks.
func TestKeysThatComeTogether(t *testing.T) {
	f := &fakeDrive{now: at(11, 12)}
	m := still(t, 80, 24, f)
	m.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("  ]n")})
	if f.felt != 2 || m.pictures.zoom != defaultZoom+1 || !m.foot.note.open {
		t.Errorf("%d felt marks, zoom %d, note open %v", f.felt, m.pictures.zoom, m.foot.note.open)
	}
	m.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("up hill")})
	if press(m, "enter"); !reflect.DeepEqual(f.notes, []string{"up hill"}) {
		t.Errorf("notes %q", f.notes)
	}
}

func TestKeysAtTheBench(t *testing.T) {
	f := &fakeDrive{now: at(20, 0), replay: true}
	m := still(t, 80, 24, f)
	steps := []struct {
		key  string
		want time.Duration
	}{
		{"left", at(19, 59)}, {"right", at(20, 0)}, {"shift+left", at(19, 50)}, {"<", at(19, 40)}, {">", at(19, 50)}, {"shift+right", at(20, 0)},
		{"up", burstStart + 600*time.Millisecond}, {"up", burstStart}, {"up", gapStart}, {"pgup", at(9, 40)}, {"up", at(8, 30)}, {"up", at(8, 0)}, {"up", at(7, 30)}, {"down", at(8, 0)},
		{"home", 0}, {"left", 0}, {"end", fakeLength}, {"right", fakeLength}, {"home", 0},
		{".", 47 * time.Millisecond},
	}
	for i, s := range steps {
		press(m, s.key)
		if len(f.seeks) != i+1 || f.seeks[i] != s.want {
			t.Fatalf("step %d, key %s: seeks %v, want %v", i, s.key, f.seeks, s.want)
		}
	}
	if want := []bool{true}; !reflect.DeepEqual(f.pauses, want) {
		t.Errorf("a step by one reading pauses: %v, want %v", f.pauses, want)
	}
	press(m, "p", "p")
	if want := []bool{true, false, true}; !reflect.DeepEqual(f.pauses, want) {
		t.Errorf("pauses %v, want %v", f.pauses, want)
	}
	press(m, "+", "+", "-", "-", "-", "-", "-")
	if want := []float64{2, 4, 2, 1, 0.5, 0.25, 0.25}; !reflect.DeepEqual(f.speeds, want) {
		t.Errorf("speeds %v, want %v", f.speeds, want)
	}
	if f.felt != 0 || len(f.notes) != 0 {
		t.Error("a replay was marked")
	}
	press(m, "space", "space", "space", "n", "hill", "pgdown", "enter")
	if f.felt != 1 || !reflect.DeepEqual(f.notes, []string{"hill"}) {
		t.Errorf("three presses at once made %d marks, notes %q", f.felt, f.notes)
	}
	if press(m, " ", "n"); !strings.Contains(m.View(), "enter keeps it") {
		t.Errorf("an answer hides the keys of a note:\n%s", m.View())
	}
	press(m, "esc")
	if press(m, "backspace"); f.felt != 0 || !strings.Contains(m.View(), "taken back") {
		t.Errorf("backspace left %d marks", f.felt)
	}
	if press(m, "backspace"); !strings.Contains(m.View(), "no mark to take back") {
		t.Error("nothing was said of no mark")
	}
}

func TestStepIsOneReading(t *testing.T) {
	f := &fakeDrive{now: at(20, 0), replay: true}
	m := still(t, 80, 24, f)
	press(m, ".")
	if got, want := f.seeks[0]-at(20, 0), 47*time.Millisecond; got != want {
		t.Errorf("stepped by %v; readings of engine speed are %v apart", got, want)
	}
}

// After a jump, a change of zoom or a step every axis is the one that a fresh screen draws there:
// in a wider one a shudder would look like a flat line.
func TestAxisFitsAfterAMove(t *testing.T) {
	fast := func(s *session.Snapshot) { // until 10:00 the engine turned twice as fast
		for i := range s.Lanes {
			if l := &s.Lanes[i]; l.Signal == pids.RPM {
				for k := range l.History {
					if p := &l.History[k]; p.At < at(10, 0) {
						p.Value *= 2
					}
				}
			}
		}
	}
	for _, tt := range []struct {
		name string
		from time.Duration
		keys []string
	}{
		{"forward to what happened", at(10, 5), []string{"down"}},
		{"ten seconds on", at(10, 15), []string{"shift+right"}},
		{"step", at(10, 23) + 490*time.Millisecond, []string{"."}},
		{"closer", at(10, 20), []string{"["}},
		{"farther and back", at(10, 27), []string{"]", "["}},
	} {
		f := &fakeDrive{now: tt.from, replay: true, change: fast}
		m := still(t, 80, 24, f)
		m.View()
		for _, k := range tt.keys {
			press(m, k)
			m.View() // may come before the next frame
			m.Update(frameMsg(m.now))
			m.View()
		}
		fresh := still(t, 80, 24, f)
		fresh.pictures.zoom = m.pictures.zoom
		fresh.View()
		if got, want := m.pictures.chart, fresh.pictures.chart; got.lo != want.lo || got.hi != want.hi {
			t.Errorf("%s: the axis is %v to %v, what is drawn needs %v to %v", tt.name, got.lo, got.hi, want.lo, want.hi)
		}
	}
}

func TestEndKeys(t *testing.T) {
	for _, keys := range [][]string{{"q", "q", "q"}, {"q", "q", "ctrl+c"}, {"ctrl+c"}, {"?", "q", "q", "q", "q"}, {"tab", "q", "q", "q", "q"}, {"c", "q", "q", "q", "q"}, {"g", "q", "q", "q"}, {"g", "ctrl+c"}, {"c", "ctrl+c"}, {"n", "x", "ctrl+c"}} {
		m := still(t, 80, 24, &fakeDrive{now: at(11, 0)})
		cmd := press(m, keys...)
		if cmd == nil || cmd() != tea.Quit() {
			t.Errorf("%v does not end", keys)
		}
	}
}

// A recorded drive asks before it ends, and a page is left first; what holds nothing that could be
// lost ends at once.
func TestEndAsksOnce(t *testing.T) {
	for _, keys := range [][]string{{"q"}, {"?", "q"}, {"tab", "q"}, {"c", "q"}, {"c", "q", "q"}, {"g", "q"}, {"q", "esc", "q"}, {"q", " ", "q"}} {
		m := still(t, 80, 24, &fakeDrive{now: at(11, 0)})
		if cmd := press(m, keys...); cmd != nil {
			t.Errorf("%v ends a recorded drive", keys)
		}
		if keys[0] != "g" && m.page != pageDrive {
			t.Errorf("%v: page %d", keys, m.page)
		}
	}
	m := still(t, 80, 24, &fakeDrive{now: at(11, 0)})
	if press(m, "q"); !strings.Contains(m.View(), "press q again to end the drive") {
		t.Errorf("no question:\n%s", m.View())
	}
	m.now = m.now.Add(askTime)
	if press(m, "q") != nil {
		t.Error("the question stays for ever")
	}
	for name, f := range map[string]*fakeDrive{
		"a replay":      {now: at(11, 0), replay: true},
		"not recorded":  {now: at(11, 0), change: func(s *session.Snapshot) { s.Recording = "" }},
		"nothing read":  {now: 0, change: unconnected},
		"over":          {now: at(44, 0), change: func(s *session.Snapshot) { s.Phase = session.Finished }},
		"disk was full": {now: at(11, 0), change: func(s *session.Snapshot) { s.Trouble = "disk full" }},
	} {
		m := still(t, 80, 24, f)
		if name == "nothing read" {
			if press(m, "q") == nil {
				t.Errorf("%s: q does not end it", name)
			}
			continue
		}
		if press(m, "q"); m.page != pageEnd {
			t.Errorf("%s: q does not lead to the last page", name)
		}
		if ends := f.ends; (ends == 1) != (name != "over" && name != "a replay") {
			t.Errorf("%s: the session was ended %d times", name, ends)
		}
	}
}

func TestPages(t *testing.T) {
	m := still(t, 80, 24, &fakeDrive{now: 0, change: unconnected})
	if m.page != pageStart {
		t.Fatal("a drive without data does not begin with the caution")
	}
	for _, s := range []struct {
		key  string
		want page
	}{{"z", pageDrive}, {"g", pageGlance}, {"g", pageDrive}, {"tab", pageSignals}, {"tab", pageDrive}, {"?", pageHelp}, {"?", pageHelp},
		{"?", pageHelp}, {"?", pageHelp}, {"?", pageDrive}, {"?", pageHelp}, {"esc", pageDrive}} {
		press(m, s.key)
		if m.page != s.want {
			t.Errorf("key %s: page %d, want %d", s.key, m.page, s.want)
		}
	}
	m = still(t, 80, 24, &fakeDrive{now: at(1, 0)})
	if m.page != pageDrive {
		t.Error("the caution stays when there is data")
	}
	m = still(t, 80, 24, &fakeDrive{now: 0, change: unconnected})
	f := m.src.Source.(*fakeDrive)
	if press(m, "space"); f.felt != 1 || m.page != pageDrive {
		t.Error("space on the first page does not mark")
	}
}

func TestLaneChoiceLeavesSpaceAlone(t *testing.T) {
	f := &fakeDrive{now: at(11, 0)}
	m := still(t, 80, 24, f)
	press(m, "tab", "up", "down", "down", "down", "down", "down", "down", "down", "down", "enter", "space")
	if f.felt != 1 {
		t.Error("space in the list of lanes does not mark")
	}
	press(m, "tab")
	if s := m.View(); strings.Contains(s, "VPWR") || strings.Contains(s, "lanes not shown: 2") {
		t.Errorf("the last lane is not the one hidden:\n%s", s)
	}
}

// Every key of both tables is in the help, and every key acts.
func TestHelpIsGeneratedFromKeys(t *testing.T) {
	for _, replay := range []bool{false, true} {
		m := still(t, 120, 60, &fakeDrive{now: at(11, 0), replay: replay})
		text := strings.Join(helpLines(&m.view, m.foot.keys), "\n")
		seen := map[string]bool{}
		for _, b := range m.foot.keys {
			if h := b.Help(); h.Desc == "" || !strings.Contains(text, h.Key) || !strings.Contains(text, h.Desc) {
				t.Errorf("key %q is not in the help", h.Key)
			}
			if b.do == nil || (b.rank > 0) != (b.short != "") {
				t.Errorf("key %q: no action, or a rank without a word at the foot", b.Help().Key)
			}
			for _, k := range b.Keys() {
				if seen[k] {
					t.Errorf("key %q is bound twice", k)
				}
				seen[k] = true
			}
		}
	}
}

func TestBell(t *testing.T) {
	ev := func(start, end float64) detect.Event { return detect.Event{Start: at(0, start), End: at(0, end)} }
	steps := []struct {
		name    string
		now     float64
		alarmed bool
		events  []detect.Event
		want    bool
	}{
		{"the first frame shows only what is known already", 10, false, []detect.Event{ev(5, 6)}, false},
		{"nothing new", 11, false, []detect.Event{ev(5, 6)}, false},
		{"an alarm", 20, true, []detect.Event{ev(5, 6)}, true},
		{"the same alarm", 21, true, []detect.Event{ev(5, 6)}, false},
		{"its event is listed", 23, false, []detect.Event{ev(5, 6), ev(18.5, 22)}, false},
		{"a second event, no alarm seen", 60, false, []detect.Event{ev(5, 6), ev(18.5, 22), ev(50, 52)}, true},
		{"the same", 61, false, []detect.Event{ev(5, 6), ev(18.5, 22), ev(50, 52)}, false},
		{"another alarm", 90, true, []detect.Event{ev(5, 6), ev(18.5, 22), ev(50, 52)}, true},
	}
	on, off := bell{on: true}, bell{}
	for _, s := range steps {
		snap := session.Snapshot{Now: at(0, s.now), Events: s.events, Detector: detect.State{Alarmed: s.alarmed}}
		if got := on.due(&snap); got != s.want {
			t.Errorf("%s: rings %v, want %v", s.name, got, s.want)
		}
		if off.due(&snap) {
			t.Errorf("%s: rings though off", s.name)
		}
	}
}

// What is not read is a row of what happened, and the keys stop at it: once for each reason, where
// the first of its parameters was asked in vain.
func TestSeekStopsAtWhatIsNotRead(t *testing.T) {
	const refused = "the car refused it (7F 22 31)"
	list := []session.Missing{{Signal: "SLIP", Since: at(16, 2), Way: session.MissingRefused, Refusal: 0x31}, {Signal: "WANT", Since: at(16, 0), Way: session.MissingRefused, Refusal: 0x31}, {Signal: "TFT", Since: at(18, 0), Way: session.MissingSilent}}
	f := &fakeDrive{now: at(20, 0), replay: true, change: func(s *session.Snapshot) {
		s.Missing, s.Replay.Missing = list, list
	}}
	m := still(t, 80, 24, f)
	press(m, "up", "up", "up", "down", "pgdown")
	if want := []time.Duration{at(18, 0), at(16, 0), burstStart + 600*time.Millisecond, at(16, 0), at(18, 0)}; !reflect.DeepEqual(f.seeks, want) {
		t.Errorf("seeks %v, want %v", f.seeks, want)
	}
	rows := missingRows(nil, list)
	if len(rows) != 2 || rows[0].at != at(16, 0) || rows[0].text != "SLIP and 1 more: "+refused || rows[1].at != at(18, 0) {
		t.Errorf("rows %+v", rows)
	}
}

// A switch is named as the screen shows it; the terminal sends a space as itself.
func TestKeyOf(t *testing.T) {
	if keyOf("space") != " " || keyOf("f5") != "f5" {
		t.Error("a key has another name on the screen")
	}
}
