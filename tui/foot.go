package tui

import (
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/prose"
)

// foot is the last line: the note being written, or the keys, as many as there is room for. For a moment
// the answer to a key covers it, and what is above it where one line is not enough.
type foot struct {
	keys   []binding
	note   noteEntry
	notice notice
}

// notice is a short answer to a key, shown at the foot of every page for a moment.
type notice struct {
	text  string
	until time.Time
}

// An answer stays for so long at least, and longer where it has more to read (about 16 characters a
// second, as subtitles have it; common practice, no source).
const (
	noticeTime  = 2500 * time.Millisecond
	readingTime = 60 * time.Millisecond // a character
	noticeLines = 3                     // at most
)

// say shows an answer, until it is read.
func (f *foot) say(text string, now time.Time) {
	f.notice = notice{text, now.Add(max(noticeTime, time.Duration(prose.Cells(text))*readingTime))}
}

// line draws it in w cells.
func (f *foot) line(v *view, w int) string {
	if f.note.open {
		return f.note.line(w)
	}
	return f.keyLine(&v.theme, w)
}

// answer draws the answer to a key over the foot of a page; a note that is being written stays under it.
func (f *foot) answer(s *sheet, v *view) {
	if !f.noticed(v.now) {
		return
	}
	var lines []string
	for _, l := range wrapped(f.notice.text, s.w-2, noticeLines) {
		lines = append(lines, v.theme.strong.on(left(" "+l, s.w)))
	}
	if f.note.open {
		lines = append(lines, f.note.line(s.w))
	}
	s.over(lines)
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
