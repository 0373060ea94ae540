package tui

import (
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/tui/wave"
)

// In a replay the shudder at the cursor is whole and in the middle, and the axis fits it at once,
// however the cursor came there.
func TestReplayShowsTheEventWhole(t *testing.T) {
	for name, keys := range map[string][]string{
		"the next event": {"down"}, "zoomed": {"down", "]", "[", "["}, "a reading on": {"down", "."}, "a second on and back": {"down", "right", "left"},
	} {
		f := &fakeDrive{now: at(10, 55), replay: true, change: func(s *session.Snapshot) { s.Stops, s.Replay.Losses = nil, nil }}
		m := still(t, 80, 24, f)
		m.View()
		for _, k := range keys {
			press(m, k)
			m.pull(m.now)
		}
		p := &m.pictures.wave.now
		if !p.ofEvent || p.event.Start != burstStart {
			t.Fatalf("%s: no event in the picture at %v", name, m.snap.Now)
		}
		if before, after := burstStart-p.cut.From, p.cut.To-burstEnd; before < time.Second || before != after {
			t.Errorf("%s: %v before the event, %v after it", name, before, after)
		}
		if want := wave.RoundReach(p.trace.Reach, p.cut.AlarmRPM); p.axis.rpm != want || want < burstRPM/2 || want > burstRPM {
			t.Errorf("%s: the axis ends at %v rpm, what is drawn needs %v", name, p.axis.rpm, want)
		}
	}
}

// After a shudder it stays beside the live wave for 20 s, in a wide window until the next one.
func TestFrozen(t *testing.T) {
	for _, tt := range []struct {
		after time.Duration
		w     int
		want  bool
	}{{time.Second, 80, false}, {2 * time.Second, 80, true}, {21 * time.Second, 80, true}, {22 * time.Second, 80, false}, {40 * time.Second, 120, true}} {
		m := still(t, tt.w, 40, &fakeDrive{now: burstEnd + tt.after, change: frozen})
		if got := m.pictures.wave.showFrozen(&m.view, tt.w >= wideFrom); got != tt.want {
			t.Errorf("%v after it, %d cells: shown %v", tt.after, tt.w, got)
		}
		labels := strings.Count(m.View(), "0 rpm┤")
		if (labels > 3) != tt.want {
			t.Errorf("%v after it, %d cells: %d labels", tt.after, tt.w, labels)
		}
	}
}

// What the picture keeps does not grow with the drive: a frame reuses the memory of the one before.
func TestWaveReusesItsMemory(t *testing.T) {
	f := &fakeDrive{now: at(12, 0)}
	m := still(t, 80, 24, f)
	n := testing.AllocsPerRun(20, func() { m.pictures.wave.follow(&m.view, false) })
	if n > 0 {
		t.Errorf("%v allocations a frame", n)
	}
}

// The axis widens at once, and narrows when less has been enough for three seconds.
func TestReachAxis(t *testing.T) {
	var a reachAxis
	for _, st := range []struct{ sec, want, is float64 }{{0, 60, 60}, {1, 40, 60}, {2, 50, 60}, {2.9, 40, 60}, {3, 40, 50}, {5, 200, 200}, {6, 40, 200}} {
		if a.follow(st.want, time.Duration(st.sec*float64(time.Second))); a.rpm != st.is {
			t.Errorf("at %v s: %v rpm, want %v", st.sec, a.rpm, st.is)
		}
	}
}

// The last shudder is on every page, with whether it was felt.
func TestLastShudderOnEveryPage(t *testing.T) {
	for _, w := range []int{minWidth, 80, 120} {
		for _, replay := range []bool{false, true} {
			m := still(t, w, 24, &fakeDrive{now: at(12, 0), replay: replay})
			for p := pageDrive; p <= pageEnd; p++ {
				m.page = p
				if view := m.View(); !strings.Contains(view, "shudder 0:11:02, 146 rpm, felt") {
					t.Errorf("%d cells, replay %v: not on page %d:\n%s", w, replay, p, view)
				}
			}
		}
	}
	if lastShudder(&session.Snapshot{Events: []detect.Event{{Start: at(1, 0), SwingRPM: 80}}}) != "0:01:00, 80 rpm" {
		t.Error("a shudder that was not felt is said to be")
	}
}

// A gear change right behind a shudder does not flatten it: the axis fits the size of the swing.
func TestGearChangeDoesNotFlattenTheWave(t *testing.T) {
	f := &fakeDrive{now: burstEnd + 300*time.Millisecond, change: func(s *session.Snapshot) {
		s.Detector.Alarmed = true
		for i := range s.Lanes {
			if l := &s.Lanes[i]; l.Signal == pids.RPM {
				for k := range l.History {
					if p := &l.History[k]; p.At > burstEnd-100*time.Millisecond {
						p.Value -= 600
					}
				}
			}
		}
	}}
	m := still(t, 80, 24, f)
	if got := m.pictures.wave.now.axis.rpm; got < burstRPM/2 || got > 1.5*burstRPM {
		t.Errorf("the axis ends at %v rpm for a swing of %v", got, burstRPM)
	}
}
