package tui

import (
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// A mark is one key of several: a foot switch and a presenter send what their makers chose.
func TestKeysThatMark(t *testing.T) {
	for _, k := range []string{"space", "enter", "pgdown", "right"} {
		f := &fakeDrive{now: at(11, 12)}
		if press(still(t, 80, 24, f), k); f.felt != 1 {
			t.Errorf("%s made %d marks", k, f.felt)
		}
	}
}

func TestSwitchIsLearnt(t *testing.T) {
	for _, key := range []tea.KeyMsg{{Type: tea.KeyF5}, {Type: tea.KeyPgUp}, {Type: tea.KeyRunes, Runes: []rune{'b'}}, {Type: tea.KeyRunes, Runes: []rune{'.'}, Alt: true}, {Type: tea.KeyTab}} {
		f := &fakeDrive{now: at(11, 12)}
		m := still(t, 80, 24, f)
		if press(m, "f"); !strings.Contains(m.View(), "press your switch now") {
			t.Fatal("nothing is asked")
		}
		if m.Update(key); f.felt != 0 || !strings.Contains(m.View(), "its key is "+key.String()) {
			t.Errorf("%v: %d marks while it is learnt:\n%s", key, f.felt, m.View())
		}
		m.Update(key)
		press(m, "space")
		for _, page := range []string{"?", "c", "g"} {
			press(m, "esc", page)
			m.Update(key)
		}
		press(m, "esc", "n", "x")
		m.Update(key)
		press(m, "enter")
		if f.felt != 6 || len(f.notes) != 1 || f.notes[0] != "x" {
			t.Errorf("%v: %d marks, want 6: on every page and while a note is typed; notes %q", key, f.felt, f.notes)
		}
	}
	for _, k := range []string{"esc", "q", "backspace"} {
		m := still(t, 80, 24, &fakeDrive{now: at(11, 12)})
		if press(m, "f", k); m.marks.learnt != "" || !strings.Contains(m.View(), "no switch was learnt") {
			t.Errorf("%s was learnt as a switch", k)
		}
	}
	m := still(t, 80, 24, &fakeDrive{now: at(11, 12)})
	if cmd := press(m, "f", "ctrl+c"); cmd == nil || cmd() != tea.Quit() {
		t.Error("control-C does not end while a switch is learnt")
	}
}

// A press is answered once it is decided what engine speed did then, in the words of its row.
func TestMarkIsAnsweredOnce(t *testing.T) {
	f := &fakeDrive{now: at(14, 0), change: func(s *session.Snapshot) {
		if s.Now >= at(14, 0) {
			m := session.Mark{At: at(14, 0), Strength: 2}
			if s.Now > at(14, 4) {
				m.Outcome = session.NotSeen
			}
			s.Marks = append(s.Marks, m)
		}
	}}
	m := still(t, 80, 24, f)
	m.now = time.Unix(0, 0)
	if press(m, "space"); !strings.Contains(m.View(), "felt at 0:14:00") {
		t.Errorf("not answered:\n%s", m.View())
	}
	m.pull(time.Unix(1, 0))
	if !strings.Contains(m.View(), "felt at 0:14:00, twice") {
		t.Errorf("how it was made is not said:\n%s", m.View())
	}
	answers := 0
	for i := range 20 {
		f.now = at(14, float64(i))
		m.pull(time.Unix(int64(i), 0))
		if m.foot.notice.text == "0:14:00: felt, engine speed steady, twice" && m.foot.notice.until.Equal(m.now.Add(noticeTime)) {
			answers++
		}
	}
	if answers != 1 || m.foot.noticed(m.now) {
		t.Errorf("answered %d times, notice %q", answers, m.foot.notice.text)
	}
}

// A mark that is made while a note is typed is answered above the note.
func TestMarkWhileANoteIsTyped(t *testing.T) {
	f := &fakeDrive{now: at(11, 12)}
	m := still(t, 80, 24, f)
	if press(m, "n", "up hill", "pgdown"); f.felt != 1 || !strings.Contains(m.View(), " felt at 0:11:12") || !strings.Contains(m.View(), "note: up hill_   enter keeps it") {
		t.Errorf("%d marks:\n%s", f.felt, m.View())
	}
}

// A switch that sends Enter marks, but a note that is typed can still be finished with it.
func TestSwitchIsEnter(t *testing.T) {
	f := &fakeDrive{now: at(11, 12)}
	m := newModel(f.shown(), Options{Switch: "enter"}, themes(io.Discard, true))
	m.pull(time.Unix(0, 0))
	if press(m, "n", "up hill", "enter"); f.felt != 0 || !slices.Equal(f.notes, []string{"up hill"}) {
		t.Errorf("%d marks, notes %q", f.felt, f.notes)
	}
	if press(m, "enter"); f.felt != 1 {
		t.Errorf("%d marks", f.felt)
	}
}

// A switch that was learnt before is given as an option, and marks from the start.
func TestSwitchIsKept(t *testing.T) {
	f := &fakeDrive{now: at(11, 12)}
	m := newModel(f.shown(), Options{Switch: "f5"}, themes(io.Discard, true))
	m.pull(time.Unix(0, 0))
	if m.Update(tea.KeyMsg{Type: tea.KeyF5}); f.felt != 1 {
		t.Errorf("%d marks", f.felt)
	}
}

// A mark has a sign of its own until it is decided what was seen then.
func TestUndecidedMarkHasItsOwnSign(t *testing.T) {
	signs := map[rune]session.FeltOutcome{}
	for o := session.Undecided; o <= session.NotJudged; o++ {
		g := feltGlyph(&session.Mark{Outcome: o})
		if other, taken := signs[g]; taken {
			t.Errorf("%c is the sign of outcomes %d and %d", g, other, o)
		}
		signs[g] = o
	}
	if n := prose.Cells(stripLegend); n > 80-8 {
		t.Errorf("the legend takes %d cells", n)
	}
	axis := timeAxis{per: time.Second, n: 2}
	if got := string(drawStrip(axis, course{marks: []session.Mark{{}}})); got != "+ " {
		t.Errorf("%q", got)
	}
}
