package prose

import (
	"testing"
	"unicode/utf8"
)

func TestAppendASCII(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"swings 80 rpm ± 5, 90 °C", "swings 80 rpm ~ 5, 90  C"},
		{"──▲▲▲──│", "--^^^--|"},
		{"⠁⡀⡇⠀", "'.: "}, // dot 1, dot 7, dots 1237, none
		{"\x1b[1mbold\x1b[0m\r\n", "\x1b[1mbold\x1b[0m\r\n"},
		{"漢a\xff", "??a?"},
	} {
		if got := string(AppendASCII(nil, []byte(c.in))); got != c.want {
			t.Errorf("%q becomes %q, want %q", c.in, got, c.want)
		}
	}
}

// FuzzAppendASCII: nothing but ASCII comes out, in as many cells as went in.
func FuzzAppendASCII(f *testing.F) {
	f.Add("◆ 117 rpm, 2.3 Hz · 81 km/h ⢸")
	f.Fuzz(func(t *testing.T, text string) {
		text = Clean(text)
		got := AppendASCII(nil, []byte(text))
		for _, b := range got {
			if b >= utf8.RuneSelf {
				t.Fatalf("%q gives %q", text, got)
			}
		}
		if len(got) < Cells(text) {
			t.Errorf("%q of %d cells gives %q of %d", text, Cells(text), got, len(got))
		}
	})
}
