package tui

import (
	"strings"

	"github.com/charmbracelet/x/ansi"

	"github.com/judder-obd/judder/prose"
)

// cut shortens s to at most w cells; the last one then shows that something is missing.
func cut(s string, w int) string {
	if w <= 0 {
		return ""
	}
	if prose.Cells(s) <= w {
		return s
	}
	return ansi.Truncate(s, w, "…")
}

// cutMiddle shortens s to at most w cells in its middle: the end of a name tells more than what comes
// before it.
func cutMiddle(s string, w int) string {
	all := prose.Cells(s)
	if all <= w || w < 4 {
		return cut(s, w)
	}
	head := ansi.Truncate(s, w/3, "") + "…"
	return head + ansi.TruncateLeft(s, all-(w-prose.Cells(head)), "")
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
	return s + spaces(w-prose.Cells(s))
}

// cutInk cuts a line that has inks in it.
func cutInk(s string, w int) string { return ansi.Truncate(s, w, "") }

// right fits s into exactly w cells, at the right.
func right(s string, w int) string {
	s = cut(s, w)
	return spaces(w-prose.Cells(s)) + s
}

// wrapped breaks text between words into at most so many lines of w cells; the last shows that
// something is missing.
func wrapped(text string, w, most int) []string {
	lines := prose.WrapText(text, w)
	if len(lines) > most {
		lines[most-1] = strings.Join(lines[most-1:], " ")
		lines = lines[:most]
	}
	for i := range lines {
		lines[i] = cut(lines[i], w)
	}
	return lines
}

// middle fits s into exactly w cells, in the middle.
func middle(s string, w int) string {
	s = cut(s, w)
	before := (w - prose.Cells(s)) / 2
	return spaces(before) + s + spaces(w-prose.Cells(s)-before)
}
