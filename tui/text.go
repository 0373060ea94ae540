package tui

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/charmbracelet/x/ansi"
)

// clean makes text from a car, a file or a user fit to be drawn: every control character
// (C0, DEL and the C1 set U+0080 to U+009F, which some terminals obey), every character
// that turns the direction of writing or takes no cell, and every broken byte becomes "?".
func clean(s string) string {
	for i := 0; i < len(s); i++ {
		if s[i] < 0x20 || s[i] >= 0x7f {
			return markFirst(strings.Map(visible, strings.ToValidUTF8(s, "?")))
		}
	}
	return s
}

// markFirst replaces a combining mark at the beginning, which would join what is drawn
// before the text.
func markFirst(s string) string {
	if r, n := utf8.DecodeRuneInString(s); unicode.Is(unicode.M, r) {
		return "?" + markFirst(s[n:])
	}
	return s
}

func visible(r rune) rune {
	switch {
	case r < 0x20, r >= 0x7f && r <= 0x9f, r == utf8.RuneError,
		r >= 0x2028 && r <= 0x2029,   // line and paragraph separators
		r >= 0xfe00 && r <= 0xfe0f,   // variation selectors: change the width of what stands before
		r >= 0x1f1e6 && r <= 0x1f1ff, // regional indicators: two are one flag
		r >= 0x1f3fb && r <= 0x1f3ff, // skin tones: join what stands before
		r >= 0xe0000,                 // tags, more variation selectors, private planes
		!unicode.IsGraphic(r),        // direction, joiners, zero width, private use, not known to this Go
		unicode.Is(unicode.Me, r), lonely(r):
		return '?'
	}
	return r
}

// lonely reports the few letters that join what follows them into one cell (Unicode
// Standard Annex 29, Prepend, beside the format characters), and the Korean letters that
// join each other.
func lonely(r rune) bool {
	switch r {
	case 0x0d4e, 0x111c2, 0x111c3, 0x1193f, 0x11941, 0x11a3a, 0x11d46, 0x11f02:
		return true
	}
	return r >= 0x11a84 && r <= 0x11a89 || r >= 0x1100 && r <= 0x11ff || r >= 0xa960 && r <= 0xa97c || r >= 0xd7b0 && r <= 0xd7fb
}

// cells is the width of s on the screen; s holds no control characters.
func cells(s string) int {
	for i := 0; i < len(s); i++ {
		if s[i] >= 0x7f {
			return ansi.StringWidth(s)
		}
	}
	return len(s)
}

// cut shortens s to at most w cells, the last of which then shows that something is
// missing.
func cut(s string, w int) string {
	if w <= 0 {
		return ""
	}
	if cells(s) <= w {
		return s
	}
	return ansi.Truncate(s, w, "…")
}

const blanks = "                                                                                "

// spaces returns n blanks, none when n is negative.
func spaces(n int) string {
	switch {
	case n <= 0:
		return ""
	case n <= len(blanks):
		return blanks[:n]
	}
	return strings.Repeat(" ", n)
}

// left fits s into exactly w cells, at the left.
func left(s string, w int) string {
	s = cut(s, w)
	return s + spaces(w-cells(s))
}

// right fits s into exactly w cells, at the right.
func right(s string, w int) string {
	s = cut(s, w)
	return spaces(w-cells(s)) + s
}

// wrapAll parts s between words into lines of at most w cells, most of them; the last may be
// longer.
func wrapAll(s string, w, most int) (lines []string) {
	for len(lines) < most-1 {
		first, more := wrapOnce(s, w)
		lines = append(lines, first)
		if s = more; s == "" {
			return lines
		}
	}
	return append(lines, s)
}

// wrapOnce parts s at the last blank with which the first part takes at most w cells.
func wrapOnce(s string, w int) (first, more string) {
	if cells(s) <= w {
		return s, ""
	}
	for i, r := range s {
		if r != ' ' {
			continue
		}
		if cells(s[:i]) > w {
			break
		}
		first, more = s[:i], s[i+1:]
	}
	if first == "" {
		return s, ""
	}
	return first, more
}

// middle fits s into exactly w cells, in the middle.
func middle(s string, w int) string {
	s = cut(s, w)
	before := (w - cells(s)) / 2
	return spaces(before) + s + spaces(w-cells(s)-before)
}
