package tui

import (
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
)

// binding is one row of a key table: the keys, their help, what they do, and whether the
// one-line help at the foot of the screen has room for them (the lower the rank, the
// longer they stay; 0 is never shown there).
type binding struct {
	key.Binding
	rank  int
	short string // at the foot
	do    func(m *model) tea.Cmd
}

func bind(rank int, shown, short, long string, do func(m *model) tea.Cmd, keys ...string) binding {
	return binding{key.NewBinding(key.WithKeys(keys...), key.WithHelp(shown, long)), rank, short, do}
}

// always hold in a drive and in a replay.
func always(end string) []binding {
	return []binding{
		bind(6, "tab", "signals", "choose the signals that are shown", (*model).openSignals, "tab"),
		bind(8, "v", "coverage", "coverage: usable time by speed and load, and the passes", openCover, "v"),
		bind(7, "g", "glance", "the state in very large letters", (*model).toggleGlance, "g"),
		bind(0, "backspace", "", "take the last mark back", takeBack, "backspace"),
		bind(0, "f", "", "learn a foot switch or presenter: press f, then it", learnSwitch, "f"),
		bind(0, "s", "", "sunlight: black on white, or as before", (*model).toggleSunlight, "s"),
		bind(0, "[", "", "zoom in: less time a column", zoom(-1), "["),
		bind(0, "]", "", "zoom out: more time a column", zoom(+1), "]"),
		bind(2, "?", "help", "these pages", (*model).toggleHelp, "?", "h"),
		bind(0, "esc", "", "back to the pictures", (*model).back, "esc"),
		bind(1, "q", "end", end, (*model).quit, "q"),
		bind(0, "control-C", "", "end at once", (*model).leave, "ctrl+c"),
	}
}

// driveKeys are the keys of a live session.
func driveKeys() []binding {
	return append([]binding{
		bind(1, "space", "felt it now", "mark: the shake is felt now; also enter, page down, →", (*model).felt, " ", "enter", "pgdown", "right"),
		bind(3, "n", "note", "mark this moment with a note", (*model).openNote, "n"),
		bind(5, "t", "steps", "test steps: announce one, see its set-up, end it", openSteps, "t"),
		bind(4, "c", "check", "code check: stored codes of every module that answers", (*model).openCheck, "c"),
		bind(0, "B", "", "blind pass: hide word, numbers and bell until it is over", toggleBlind, "B"),
		bind(0, "b", "", "ring the bell at a new event, or do not", (*model).toggleBell, "b"),
	}, always("end; a recorded drive asks once")...)
}

// replayKeys are the keys at the bench.
func replayKeys() []binding {
	return append([]binding{
		bind(2, "space", "felt", "mark the moment at the cursor: the shake was felt", (*model).felt, " "),
		bind(6, "n", "note", "a note at the cursor", (*model).openNote, "n"),
		bind(1, "p", "pause", "pause or go on", (*model).togglePause, "p"),
		bind(0, "←", "", "a second back", seekBy(-time.Second), "left"),
		bind(0, "→", "", "a second on", seekBy(time.Second), "right"),
		bind(0, "shift ←", "", "ten seconds back; also <", seekBy(-10*time.Second), "shift+left", "<"),
		bind(0, "shift →", "", "ten seconds on; also >", seekBy(10*time.Second), "shift+right", ">"),
		bind(3, "↓", "next", "next: shudder, step, stop, lost link, mark; also pgdown", seekMark(+1), "down", "pgdown"),
		bind(4, "↑", "previous", "the one before; also pgup", seekMark(-1), "up", "pgup"),
		bind(5, "enter", "events", "list of what happened: arrows choose, enter goes there", openEvents, "enter"),
		bind(0, "z", "", "the wave closer, around the cursor", zoomWave(-1), "z"),
		bind(0, "Z", "", "the wave wider, around the cursor", zoomWave(+1), "Z"),
		bind(0, "w", "", "the event whole again", wholeWave, "w"),
		bind(0, "x", "", "second cursor: time, Hz and rpm from there to the first", secondCursor, "x"),
		bind(0, "e", "", "export what the wave shows, as CSV and as SVG", exportWindow, "e"),
		bind(0, ".", "", "one reading of engine speed on, then pause", (*model).stepReading, "."),
		bind(7, "+", "faster", "faster", speed(+1), "+", "="),
		bind(7, "-", "slower", "slower", speed(-1), "-", "_"),
		bind(0, "home", "", "start of the drive", seekTo(0), "home"),
		bind(0, "end", "", "end of the drive", seekTo(1), "end"),
	}, always("end")...)
}
