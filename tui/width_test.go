package tui

import (
	"io"
	"testing"

	"github.com/creack/pty"
)

// Text is broken by the terminal's width where there is a terminal.
func TestTextWidth(t *testing.T) {
	far, near, err := pty.Open()
	if err != nil {
		t.Skip("no pseudo-terminals here:", err)
	}
	defer func() { _, _ = far.Close(), near.Close() }()
	for cols, want := range map[uint16]int{60: 59, 80: 79, 100: 99, 200: widestText, 10: narrowestText, 0: 79} {
		if err := pty.Setsize(near, &pty.Winsize{Rows: 24, Cols: cols}); err != nil {
			t.Fatal(err)
		}
		if got := TextWidth(near, 79); got != want {
			t.Errorf("%d columns: %d, want %d", cols, got, want)
		}
	}
	if got := TextWidth(io.Discard, 79); got != 79 {
		t.Errorf("no terminal: %d", got)
	}
}
