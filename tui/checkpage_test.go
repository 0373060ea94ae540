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
		out := Wrap(lines, w)
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

// The pages of the help turn by the keys that turn pages, and stop at both ends.
func TestHelp_Moves(t *testing.T) {
	m := still(t, 80, 24, &fakeDrive{})
	press(m, "?")
	last := len(m.helpLines()) - helpRows(m.h)
	for _, c := range []struct {
		key  string
		want int
	}{{"down", 1}, {"up", 0}, {"up", 0}, {"pgdown", helpRows(24)}, {"end", last}, {"pgdown", last}, {"home", 0}, {"pgup", 0}} {
		press(m, c.key)
		if m.page != pageHelp || m.help != c.want {
			t.Errorf("after %s line %d of page %v, want %d", c.key, m.help, m.page, c.want)
		}
	}
}
