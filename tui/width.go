package tui

import (
	"io"

	"github.com/charmbracelet/x/term"
)

// narrowestText is the least width, cells, that text is broken at.
const narrowestText = 30

// TextWidth is how wide text written to w may be, cells: one less than the terminal it is, most at
// the most; most where its width is not known.
func TextWidth(w io.Writer, most int) int {
	f, ok := w.(interface{ Fd() uintptr })
	if !ok {
		return most
	}
	width, _, err := term.GetSize(f.Fd())
	if err != nil || width <= 0 {
		return most
	}
	return max(narrowestText, min(width-1, most))
}
