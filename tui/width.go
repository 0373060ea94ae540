package tui

import (
	"io"

	"github.com/charmbracelet/x/term"
)

// The least and the most, cells, that text is broken at: longer lines are hard to read.
const narrowestText, widestText = 30, 119

// TextWidth is how wide text written to w may be, cells: one less than the terminal it is, within
// what can be read; otherwise where w is no terminal or its width is not known.
func TextWidth(w io.Writer, otherwise int) int {
	f, ok := w.(interface{ Fd() uintptr })
	if !ok {
		return otherwise
	}
	width, _, err := term.GetSize(f.Fd())
	if err != nil || width <= 0 {
		return otherwise
	}
	return max(narrowestText, min(width-1, widestText))
}
