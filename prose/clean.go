// Package prose is how judder writes: cleaned text, lengths of time, wrapped lines. It is pure.
//
// What a car, an adapter, a file or a user says may end up on a terminal. There are two rules
// for it. Text that is only printed may hold nothing that steers a terminal ([Steers],
// [NewWriter]). Text that is laid out in cells must also take the room that it is measured to
// take ([Clean]).
package prose

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Steers reports whether a terminal could obey r (C0, DEL and the C1 set, U+0080 to U+009F), or
// whether r breaks a line or turns the direction of writing.
func Steers(r rune) bool {
	return r < ' ' || r >= 0x7f && r <= 0x9f ||
		r >= 0x2028 && r <= 0x2029 || // line and paragraph separators
		r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 // direction
}

// Clean makes text fit to be laid out in cells: every character that steers a terminal, takes
// no cell or joins its neighbours, and every broken byte, becomes "?".
func Clean(s string) string {
	for i := range len(s) {
		if s[i] < ' ' || s[i] >= 0x7f {
			return cleanFirst(strings.Map(CleanRune, s))
		}
	}
	return s
}

// cleanFirst replaces combining marks at the beginning: they would join what comes before.
func cleanFirst(s string) string {
	if r, n := utf8.DecodeRuneInString(s); unicode.Is(unicode.M, r) {
		return "?" + cleanFirst(s[n:])
	}
	return s
}

// CleanRune is Clean for one character that is not the first.
func CleanRune(r rune) rune {
	switch {
	case Steers(r), r == utf8.RuneError,
		r >= 0xfe00 && r <= 0xfe0f,   // variation selectors: change the width of what comes before
		r >= 0x1f1e6 && r <= 0x1f1ff, // regional indicators: two are one flag
		r >= 0x1f3fb && r <= 0x1f3ff, // skin tones: join what comes before
		r >= 0xe0000,                 // tags, more variation selectors, private planes
		!unicode.IsGraphic(r),        // joiners, zero width, private use, not known to this Go
		unicode.Is(unicode.Me, r), joinsNext(r):
		return '?'
	}
	return r
}

// joinsNext reports whether r joins what follows it into one cell (Unicode Standard Annex 29,
// Prepend), or is a Korean letter that joins another.
func joinsNext(r rune) bool {
	switch r {
	case 0x0d4e, 0x111c2, 0x111c3, 0x1193f, 0x11941, 0x11a3a, 0x11d46, 0x11f02:
		return true
	}
	return r >= 0x11a84 && r <= 0x11a89 || r >= 0x1100 && r <= 0x11ff || r >= 0xa960 && r <= 0xa97c || r >= 0xd7b0 && r <= 0xd7fb
}
