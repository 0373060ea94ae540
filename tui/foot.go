package tui

import (
	"slices"
	"strings"

	"judder/prose"
)

// foot is the last line: the note being written, the answer to a key for a moment, or the
// keys, as many as there is room for.
func (m *model) foot(w int) string {
	if m.note.open {
		return m.note.line(w)
	}
	if m.noticed() {
		return m.theme.strong.on(cut(" "+m.notice.text, w))
	}
	return m.keyLine(w)
}

// noticed reports whether there is an answer to a key to show.
func (m *model) noticed() bool { return m.notice.text != "" && m.now.Before(m.notice.until) }

func (m *model) footLabel() string {
	if m.replay {
		return ""
	}
	if m.snap.Check.Running {
		return "code check: reading " + prose.Clean(m.snap.Check.Doing)
	}
	return bellWord(m.bell.on)
}

// keyLine is the short help, from the table of keys: the lowest ranks that fit, in the
// order of the table.
func (m *model) keyLine(w int) string {
	const gap = 3
	ranked := make([]int, 0, len(m.keys))
	for i := range m.keys {
		if m.keys[i].rank > 0 {
			ranked = append(ranked, i)
		}
	}
	slices.SortStableFunc(ranked, func(a, b int) int { return m.keys[a].rank - m.keys[b].rank })
	used := 1
	shown := ranked[:0]
	for _, i := range ranked {
		h := m.keys[i].Help()
		used += prose.Cells(h.Key) + 1 + prose.Cells(m.keys[i].short) + gap
		if used-gap > w {
			break
		}
		shown = append(shown, i)
	}
	slices.Sort(shown)
	parts := make([]string, len(shown))
	for k, i := range shown {
		h := m.keys[i].Help()
		parts[k] = m.theme.key.on(h.Key) + " " + m.theme.faint.on(m.keys[i].short)
	}
	return " " + strings.Join(parts, spaces(gap))
}
