package tui

import (
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session"
)

// Nothing of what is found is on any page of a blind pass, and the bell is silent.
func TestBlindPassHidesWhatIsFound(t *testing.T) {
	for _, key := range []string{"", "g", "tab", "v", "t", "c", "?"} {
		f := &fakeDrive{now: at(11, 5), change: alarm}
		m := still(t, 80, 24, f)
		m.marks.learnt = "pgup"
		if press(m, "B"); !f.blind {
			t.Fatal("B does not begin a blind pass")
		}
		m.pull(m.now)
		press(m, "space")
		if key != "" {
			press(m, key)
		}
		m.foot.notice = notice{}
		page := m.View()
		secrets := []string{"S H U D D E R", "█", "rpm", "swing", "seen", "last shudder 0:", "▲"}
		if key == "?" || key == "c" { // words, and what has nothing of the drive
			secrets = []string{"last shudder 0:", "146 rpm"}
		}
		for _, secret := range secrets {
			if strings.Contains(page, secret) {
				t.Errorf("after %q the page shows %q:\n%s", key, secret, page)
			}
		}
		if key != "?" && key != "c" && !strings.Contains(page, "B L I N D   P A S S") || f.felt != 1 {
			t.Errorf("after %q %d marks:\n%s", key, f.felt, page)
		}
		m.bell = bell{on: true, primed: true}
		if m.soundBell() != nil {
			t.Error("the bell rings")
		}
		press(m, "esc", "B")
		if m.pull(m.now); f.blind || !strings.Contains(m.View(), "S H U D D E R") {
			t.Errorf("B does not end it:\n%s", m.View())
		}
	}
}

// A blind pass is over by itself five seconds after a cruise of at least eight seconds.
func TestBlindPassIsOver(t *testing.T) {
	var b blindPane
	s := session.Snapshot{Blind: session.BlindState{On: true}}
	s.Detector.Judged = 100 * time.Second
	over := -1
	for sec := range 60 {
		s.Now = time.Duration(sec) * time.Second
		s.Detector.Reason = detect.ThrottleMoving
		if sec >= 20 && sec < 30 || sec == 32 || sec >= 10 && sec < 14 {
			s.Detector.Reason, s.Detector.Judged = detect.Judged, s.Detector.Judged+time.Second
		}
		if b.follow(&s) && over < 0 {
			over = sec
		}
	}
	if over != 38 {
		t.Errorf("over at %d s; usable from 10 to 14, 20 to 30 and 32 to 33 s", over)
	}
	s.Blind.On = false
	if b.follow(&s) {
		t.Error("over though none is on")
	}
}

// What it gave can be checked by hand: hits, marks, the share that the windows cover, the time.
func TestBlindWords(t *testing.T) {
	for _, tt := range []struct {
		b    session.BlindState
		want string
	}{
		{session.BlindState{Marks: 5, Hits: 4, Share: 0.12, Judged: 190 * time.Second, Chance: 0.0009}, "blind: 4 of 5 marks at a shudder, whose windows cover 12 % of 3:10 min; by chance 0.09 %"},
		{session.BlindState{Marks: 9, Hits: 9, Share: 0.1, Judged: time.Minute, Chance: 1e-9}, "blind: 9 of 9 marks at a shudder, whose windows cover 10 % of 1:00 min; by chance under 0.01 %"},
		{session.BlindState{Judged: 30 * time.Second, Chance: nan}, "blind: no mark in 30 s of usable time"},
	} {
		if got := blindWords(&tt.b); got != tt.want {
			t.Errorf("%q, want %q", got, tt.want)
		}
	}
}

// At the bench nothing of a blind pass is hidden.
func TestBlindPassInAReplay(t *testing.T) {
	f := &fakeDrive{now: at(11, 3), replay: true, blind: true}
	m := still(t, 80, 24, f)
	if page := m.View(); !strings.Contains(page, "what happened") || strings.Contains(page, "hidden") {
		t.Errorf("\n%s", page)
	}
}
