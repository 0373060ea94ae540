package tui

import (
	"testing"

	"github.com/judder-obd/judder/prose"
)

func TestCutMiddle(t *testing.T) {
	for _, tt := range []struct {
		text string
		w    int
		want string
	}{
		{"short", 8, "short"}, {"before-after", 12, "before-after"}, {"before-the-after", 12, "befo…e-after"},
		{"before", 3, "be…"}, {"漢字漢字漢字", 9, "漢…漢字漢"}, {"anything", 0, ""},
	} {
		got := cutMiddle(tt.text, tt.w)
		if prose.Cells(got) > tt.w || tt.text[0] < 0x80 && got != tt.want {
			t.Errorf("%q in %d: %q, want %q", tt.text, tt.w, got, tt.want)
		}
	}
}
