package tui

import (
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
)

// Long lines are broken between words, as deep as their text; nothing is lost or too wide.
func TestWrap(t *testing.T) {
	lines := []string{"  1.   Repair the engine's misfire before judging the converter: P0304, P0741 (ISO 14229-1, status of a trouble code)", "", "short", "\tx\x1b[2Jy", strings.Repeat("w", 200)}
	for _, w := range []int{30, 58, 78} {
		out := wrap(lines, w)
		for _, l := range out {
			if ansi.StringWidth(l) > w || strings.Contains(l, "\x1b") {
				t.Errorf("%d wide: %q", w, l)
			}
		}
		joined := strings.Join(strings.Fields(strings.Join(out, " ")), " ")
		if !strings.Contains(joined, "1. Repair the engine's misfire before judging the converter:") || !strings.Contains(joined, "short") {
			t.Errorf("%d wide: %q", w, joined)
		}
		if !strings.HasPrefix(out[1], "       ") {
			t.Errorf("%d wide: %q does not stand under the text", w, out[1])
		}
	}
}
