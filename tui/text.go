package tui

import (
	"strings"
	"unicode/utf8"

	"github.com/charmbracelet/x/ansi"
)

// clean makes text from a car, a file or a user fit to be drawn: every control character
// (C0, DEL and the C1 set U+0080 to U+009F, which some terminals obey), every character
// that turns the direction of writing or takes no cell, and every broken byte becomes "?".
func clean(s string) string {
	for i := 0; i < len(s); i++ {
		if s[i] < 0x20 || s[i] >= 0x7f {
			return strings.Map(visible, strings.ToValidUTF8(s, "?"))
		}
	}
	return s
}

func visible(r rune) rune {
	switch {
	case r < 0x20, r >= 0x7f && r <= 0x9f, r == utf8.RuneError,
		r == 0xad,                  // soft hyphen
		r >= 0x200b && r <= 0x200f, // zero width, direction marks
		r >= 0x2028 && r <= 0x202e, // line and paragraph separators, direction overrides
		r >= 0x2060 && r <= 0x206f, // joiners, direction isolates
		r == 0xfeff,
		r >= 0xe0000: // tags, private planes
		return '?'
	}
	return r
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

// middle fits s into exactly w cells, in the middle.
func middle(s string, w int) string {
	s = cut(s, w)
	before := (w - cells(s)) / 2
	return spaces(before) + s + spaces(w-cells(s)-before)
}
