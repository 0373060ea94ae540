package tui

import (
	"fmt"
	"path"
	"strings"
	"time"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// view is what every page is drawn from.
type view struct {
	theme  theme
	replay bool
	snap   session.Snapshot
	now    time.Time // of the latest frame, on the wall clock
	w, h   int
	cursor time.Duration // where a replay is or has just been sent
	word   steady        // the large word
	bench  bench         // what of the wave was asked for in a replay
}

func (v *view) drawHeader(s *sheet) {
	if v.w < smallBelow {
		v.smallHeader(s)
		return
	}
	r := &v.snap.Replay
	name := left(" judder", 9)
	mode, t := left("drive", 8), left(prose.Clock(v.snap.Now), 10)
	end := right(linkWord(&v.snap)+" ", 15)
	if v.replay {
		mode, t = left("replay", 8), left(prose.Clock(v.snap.Now)+" of "+prose.Clock(r.Length), 22)
		end = right(replayMotion(&v.snap)+" ", 14)
	}
	room := v.w - prose.Cells(name) - prose.Cells(mode) - prose.Cells(t) - prose.Cells(end)
	s.line(v.theme.faint.on(name), mode, v.theme.strong.on(t),
		v.theme.faint.on(left(cutMiddle(recordingWords(&v.snap, v.replay), room), room)), end)
}

func recordingWords(s *session.Snapshot, replay bool) string {
	switch {
	case replay:
		return prose.Clean(baseName(s.Link.Source))
	case s.Recording == "":
		return "not recorded"
	case s.Stopped.Cause != "":
		return "recorded to " + prose.Clock(s.Stopped.At)
	case s.Stopped.Lost():
		return "removed or moved: " + prose.Clean(baseName(s.Recording))
	case s.Stopped.Rewritten():
		return "recording " + prose.Clean(baseName(s.Recording)) + ", written again"
	}
	return "recording " + prose.Clean(baseName(s.Recording))
}

// troubleWords are what is wrong with the recording, the shortest that are known: they must not be cut.
func troubleWords(s *session.Snapshot) string {
	switch {
	case s.Stopped.Lost():
		return "RECORDING REMOVED OR MOVED"
	case s.Stopped.Cause != "":
		return "NOT RECORDING: " + prose.Clean(s.Stopped.Cause)
	}
	return "NOT RECORDING: " + prose.Clean(s.Trouble)
}

func baseName(file string) string { return path.Base(strings.ReplaceAll(file, `\`, "/")) }

func replayMotion(s *session.Snapshot) string {
	switch {
	case s.Replay.Paused:
		return "paused"
	case s.Phase == session.Finished || s.Replay.Length > 0 && s.Now >= s.Replay.Length:
		return "at the end"
	case s.Replay.Speed <= 0:
		return "full speed"
	}
	return fmt.Sprintf("playing ×%g", s.Replay.Speed)
}

// drawState draws the state, large, and its reason under it; at the right of the state, in
// the way of nothing else, what is wrong with the recording. It returns how many lines the
// reason took.
func (v *view) drawState(s *sheet) (reasons int) {
	st := v.word.shown
	word := stateWord(st, v.w)
	trouble := ""
	if v.snap.Trouble != "" {
		trouble = cut(troubleWords(&v.snap), v.w-prose.Cells(word)-4) + " "
	} else if v.replay && v.snap.Replay.Damage != "" {
		trouble = cut(prose.Clean(v.snap.Replay.Damage), v.w-prose.Cells(word)-4) + " "
	}
	if t := v.snap.Replay.MarksTrouble; t != "" {
		trouble = cut(prose.Clean(t), v.w-prose.Cells(word)-4) + " "
	}
	s.line(" ", v.inkOf(st).on(word), spaces(v.w-1-prose.Cells(word)-prose.Cells(trouble)), v.theme.text[moodWatch].on(trouble))
	lines := v.shownLines(v.w - 4)
	for _, l := range lines {
		s.line("   ", l)
	}
	return len(lines)
}

// stateWord is the word of a state, spaced out where the window is wide enough. An alarm has
// its glyph three times on both sides, so that it is seen without colour too.
func stateWord(st state, w int) string {
	row := &states[st]
	word := row.word
	if w >= 70 {
		word = strings.Join(strings.Split(word, ""), " ")
	}
	if row.mood == moodAlarm {
		g := strings.Repeat(row.glyph, 3)
		return " " + g + "  " + word + "  " + g + " "
	}
	return " " + row.glyph + "  " + word + " "
}

func (v *view) inkOf(st state) ink { return v.theme.word[states[st].mood] }
