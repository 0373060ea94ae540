package tui

import (
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/prose"
)

// foot is the last line: the note being written, the answer to a key for a moment, or the
// keys, as many as there is room for.
type foot struct {
	keys   []binding
	note   noteEntry
	notice notice
}

// notice is a short answer to a key, shown at the foot for a moment.
type notice struct {
	text  string
	until time.Time
}

const noticeTime = 2500 * time.Millisecond

// line draws it in w cells.
func (f *foot) line(v *view, w int) string {
	said := ""
	if f.noticed(v.now) {
		said = f.notice.text
	}
	if f.note.open {
		return f.note.line(w, said)
	}
	if said != "" {
		return v.theme.strong.on(cut(" "+f.notice.text, w))
	}
	return f.keyLine(&v.theme, w)
}

// noticed reports whether there is an answer to a key to show.
func (f *foot) noticed(now time.Time) bool { return f.notice.text != "" && now.Before(f.notice.until) }

// keyLine is the short help, from the table of keys: the lowest ranks that fit, in the
// order of the table.
func (f *foot) keyLine(th *theme, w int) string {
	const gap = 3
	ranked := make([]int, 0, len(f.keys))
	for i := range f.keys {
		if f.keys[i].rank > 0 {
			ranked = append(ranked, i)
		}
	}
	slices.SortStableFunc(ranked, func(a, b int) int { return f.keys[a].rank - f.keys[b].rank })
	used := 1
	shown := ranked[:0]
	for _, i := range ranked {
		h := f.keys[i].Help()
		used += prose.Cells(h.Key) + 1 + prose.Cells(f.keys[i].short) + gap
		if used-gap > w {
			break
		}
		shown = append(shown, i)
	}
	slices.Sort(shown)
	parts := make([]string, len(shown))
	for k, i := range shown {
		h := f.keys[i].Help()
		parts[k] = th.key.on(h.Key) + " " + th.faint.on(f.keys[i].short)
	}
	return " " + strings.Join(parts, spaces(gap))
}
