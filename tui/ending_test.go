package tui

import (
	"slices"
	"strings"
	"testing"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/cause"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/recording"
)

// The ending has the finding, four lines, where it is saved and what to do next, and fits into a
// shell of 80 cells and 24 lines with room to spare, whatever was driven.
func TestEnding(t *testing.T) {
	f := &fakeDrive{now: fakeLength}
	var s session.Snapshot
	f.Snapshot(&s)
	s.Phase = session.Finished
	long := endingOfSnapshot(&s)
	for i := range 40 {
		e := long.Events[0]
		e.Start += at(0, float64(i))
		long.Events = append(long.Events, e)
	}
	long.Headline.Reason, long.Path = strings.Repeat("a long reason ", 40), strings.Repeat("/a/long/path", 20)
	for name, e := range map[string]Ending{
		"a shudder":        endingOfSnapshot(&s),
		"everything long":  long,
		"nothing recorded": {Headline: session.Headline{Word: "NO SHUDDER SEEN"}, Verdict: detect.Verdict{Finding: detect.NoShudder}},
		"hostile":          {Path: "\x1b[31m\n\x00.jsonl", Trouble: "\a\n", Headline: session.Headline{Word: "\x1b[2J", Reason: "\x1b]0;x\a"}},
	} {
		for _, w := range []int{36, 80, 119} {
			lines := e.Lines(w)
			if len(lines) > endingMost && w >= 80 || len(lines) < 9 {
				t.Errorf("%s: %d lines at %d cells", name, len(lines), w)
			}
			for _, l := range lines {
				if prose.Cells(l) > w && l != e.Path || prose.Clean(l) != l { // a path stays whole
					t.Errorf("%s: %q", name, l)
				}
			}
		}
	}
	e := endingOfSnapshot(&s)
	for want, got := range map[string]string{
		"felt: 2 times; 1 with shudder seen, 1 with engine speed steady":     e.felt(),
		"shudder: once, largest at 0:11:02: 146 rpm, 1.9 Hz, 3.2 s, 64 km/h": e.seen(),
		"also seen: slow surge once, engine stopped once, link lost once":    e.besides(),
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// Screen and ending say what became of a recording that was removed or moved, and name no file that is
// not there.
func TestEnding_RecordingRemoved(t *testing.T) {
	for _, c := range []struct {
		stop                session.RecordingStop
		trouble             string
		screen, saved, next string
	}{
		{session.RecordingStop{Place: recording.Rewritten}, "", "drive.jsonl, written again", "Recorded in drive.jsonl, written again whole", "judder replay drive.jsonl"},
		{session.RecordingStop{Place: recording.Lost}, "it is gone", "RECORDING REMOVED OR MOVED", "Recorded, but no longer in drive.jsonl: ", "record the next drive"},
		{session.RecordingStop{At: at(11, 4), Cause: "the disk is full", Place: recording.Lost}, "it is full", "NOT RECORDING: the disk is full", "Recorded only until 0:11:04", "judder replay drive.jsonl"},
	} {
		f := &fakeDrive{now: at(44, 59), change: func(s *session.Snapshot) {
			s.Recording, s.Stopped, s.Trouble = "drive.jsonl", c.stop, c.trouble
		}}
		if view := still(t, 120, 40, f).View(); !strings.Contains(view, c.screen) {
			t.Errorf("no %q on the screen:\n%s", c.screen, view)
		}
		var s session.Snapshot
		f.Snapshot(&s)
		e := endingOfSnapshot(&s)
		if saved, next := e.saved(), e.next(); !strings.HasPrefix(saved, c.saved) || !strings.Contains(next, c.next) {
			t.Errorf("%q, %q", saved, next)
		}
	}
}

// After q pressed twice the answer stays until a key: it is on the page, and in the shell after it.
func TestEndPage(t *testing.T) {
	f := &fakeDrive{now: at(44, 59)}
	m := still(t, 80, 24, f)
	press(m, "q", "q")
	if m.page != pageEnd || f.ends != 1 {
		t.Fatalf("page %d, %d ends", m.page, f.ends)
	}
	checkShape(t, m.View(), 80, 24)
	f.change = func(s *session.Snapshot) { s.Phase = session.Finished }
	m.pull(m.now)
	view := strings.Split(m.View(), "\n")
	checkShape(t, m.View(), 80, 24)
	ending := endingOfSnapshot(&m.snap)
	for _, l := range ending.Lines(76) {
		if !slices.ContainsFunc(view, func(v string) bool { return strings.Contains(v, l) }) {
			t.Errorf("no %q on the last page", l)
		}
	}
	if press(m, "esc"); m.page != pageDrive {
		t.Error("esc does not lead back to the pictures")
	}
	if press(m, "q"); m.page != pageEnd || press(m, "q") == nil {
		t.Error("q does not leave the last page")
	}
}

// The last page and the shell have the whole name of the file, as a command takes it.
func TestEndPageHasTheWholeName(t *testing.T) {
	const file = "/workshop/road tests/blue estate, order 4711, before the fluid exchange/judder-20261130-101500.jsonl"
	f := &fakeDrive{now: at(44, 59), change: func(s *session.Snapshot) { s.Phase, s.Recording = session.Finished, file }}
	m := still(t, 80, 24, f)
	press(m, "q")
	page := m.View()
	checkShape(t, page, 80, 24)
	want := `judder replay "` + file + `"`
	closed := func(text string) string { return strings.Join(strings.Fields(text), "") }
	if m.page != pageEnd || strings.Count(closed(page), closed(file)) != 2 {
		t.Errorf("the page has not the whole name:\n%s", page)
	}
	ending := endingOfSnapshot(&m.snap)
	if text := strings.Join(ending.Lines(80), " "); !strings.Contains(text, want) {
		t.Errorf("no %s in %s", want, text)
	}
}

// What to do next is the most telling test that was not made, and the codes before any repair.
func TestEndingNext(t *testing.T) {
	shudder := Ending{Path: "d.jsonl", Test: cause.TapBrake, Verdict: detect.Verdict{Finding: detect.Shudder}}
	if got := shudder.next(); !strings.Contains(got, "just enough for the lights") || !strings.Contains(got, "codes (judder check) before any repair") || !strings.Contains(got, "judder replay d.jsonl") {
		t.Errorf("%q", got)
	}
	shudder.Test = cause.TapMore
	if got := shudder.next(); !strings.Contains(got, "three without. Read the codes") {
		t.Errorf("a sentence has no end: %q", got)
	}
	quiet := Ending{Path: "d.jsonl", Test: cause.Reproduce, Headline: session.Headline{Rule: session.Quiet}, Verdict: detect.Verdict{Finding: detect.NoShudder}}
	if got := quiet.next(); !strings.Contains(got, "judder compare") || !strings.Contains(got, "judder review d.jsonl") {
		t.Errorf("%q", got)
	}
	felt := Ending{Path: "d.jsonl", Test: cause.CoastNeutral}
	if got := felt.next(); !strings.Contains(got, "select neutral") || !strings.Contains(got, "judder review d.jsonl") {
		t.Errorf("%q", got)
	}
}
