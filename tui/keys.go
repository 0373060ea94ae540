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
	rank int
	do   func(m *model) tea.Cmd
}

func bind(rank int, shown, short string, do func(m *model) tea.Cmd, keys ...string) binding {
	return binding{key.NewBinding(key.WithKeys(keys...), key.WithHelp(shown, short)), rank, do}
}

// always hold in a drive and in a replay.
func always() []binding {
	return []binding{
		bind(4, "tab", "lanes", (*model).openLanes, "tab"),
		bind(5, "g", "glance", (*model).toggleGlance, "g"),
		bind(0, "[", "pictures: less time a column", zoom(-1), "["),
		bind(0, "]", "pictures: more time a column", zoom(+1), "]"),
		bind(2, "?", "words and keys", (*model).toggleHelp, "?", "h"),
		bind(0, "esc", "back", (*model).back, "esc"),
		bind(1, "q", "end", (*model).quit, "q", "ctrl+c"),
	}
}

// driveKeys are the keys of a live session.
func driveKeys() []binding {
	return append([]binding{
		bind(1, "space", "felt it now", (*model).felt, " "),
		bind(3, "n", "note", (*model).openNote, "n"),
		bind(0, "b", "bell on or off", (*model).toggleBell, "b"),
	}, always()...)
}

// replayKeys are the keys at the bench.
func replayKeys() []binding {
	return append([]binding{
		bind(1, "space", "pause", (*model).togglePause, " ", "p"),
		bind(3, "←→", "1 s", seekBy(-time.Second), "left"),
		bind(0, "→", "a second on", seekBy(time.Second), "right"),
		bind(0, "shift ←", "ten seconds back", seekBy(-10*time.Second), "shift+left"),
		bind(0, "shift →", "ten seconds on", seekBy(10*time.Second), "shift+right"),
		bind(3, "n N", "next, previous event or mark", seekMark(+1), "n"),
		bind(0, "N", "previous event or mark", seekMark(-1), "N"),
		bind(0, ".", "one reading on", (*model).stepReading, "."),
		bind(5, "+", "faster", speed(+1), "+", "="),
		bind(0, "-", "slower", speed(-1), "-", "_"),
		bind(0, "home", "start of the drive", seekTo(0), "home"),
		bind(0, "end", "end of the drive", seekTo(1), "end"),
	}, always()...)
}
