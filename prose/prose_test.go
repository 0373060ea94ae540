package prose

import (
	"bytes"
	"errors"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/charmbracelet/x/ansi"
)

func TestClean(t *testing.T) {
	for _, tt := range []struct{ what, in, want string }{
		{"plain text stays", "21 °C λ – ▲ é 漢字", "21 °C λ – ▲ é 漢字"},
		{"a colour", "a\x1b[31mb", "a?[31mb"},
		{"line ends, tab, NUL", "a\nb\tc\r\x00", "a?b?c??"},
		{"C1, which some terminals obey", "\u009b31m\u0080\u009f", "?31m??"},
		{"DEL", "x\x7f", "x?"},
		{"broken bytes, each", "a\xff\xfeb", "a??b"},
		{"turns the direction", "\u202eevil", "?evil"},
		{"takes no cell", "a\u200bb", "a?b"},
		{"a mark at the beginning joins what comes before", "\u0301x", "?x"},
		{"a mark of a later Unicode than width tables know", "\u0897", "?"},
		{"a vowel sign at the beginning", "ୗ", "?"},
		{"joins the blank behind it", "\u0600", "?"},
	} {
		if got := Clean(tt.in); got != tt.want {
			t.Errorf("%s: Clean(%q) = %q, want %q", tt.what, tt.in, got, tt.want)
		}
	}
}

// Cleaned text steers nothing, is cleaned once and for all, and takes the cells that it is measured
// to take, whatever is around it.
func FuzzClean(f *testing.F) {
	f.Add("a\x1b]0;x\a\u009b")
	f.Add("漢字漢字")
	f.Add("e\u0301 \u0600\u0897ୗ")
	f.Fuzz(func(t *testing.T, s string) {
		c := Clean(s)
		if !utf8.ValidString(c) || strings.ContainsFunc(c, Steers) {
			t.Fatalf("%q cleaned to %q", s, c)
		}
		if Clean(c) != c {
			t.Fatalf("%q cleaned twice differs", s)
		}
		if between := "[" + c + "]"; Cells(between) != Cells(c)+2 || ansi.StringWidth(between) != Cells(c)+2 {
			t.Fatalf("%q takes %d cells, between brackets %d", c, Cells(c), Cells(between))
		}
		var out bytes.Buffer
		w := NewWriter(&out)
		for i := range len(s) { // byte by byte, as the worst of writers would
			_, _ = w.Write([]byte{s[i]}) // a buffer takes everything
		}
		if strings.ContainsFunc(strings.ReplaceAll(out.String(), "\n", ""), Steers) {
			t.Fatalf("%q was written as %q", s, out.String())
		}
	})
}

func TestWriter(t *testing.T) {
	for in, want := range map[string]string{
		"21 °C\nλ":             "21 °C\nλ",
		"\x1b[2J\u009b\tx\xff": "?[2J??x?",
		"left\u202eright":      "left?right",
		"👩\u200d🔧":             "👩\u200d🔧", // takes two cells or four, and steers nothing
	} {
		for cut := range len(in) + 1 {
			var out bytes.Buffer
			w := NewWriter(&out)
			for _, part := range []string{in[:cut], in[cut:]} {
				if n, err := w.Write([]byte(part)); n != len(part) || err != nil {
					t.Fatal(n, err)
				}
			}
			if out.String() != want {
				t.Errorf("%q, cut at %d: %q, want %q", in, cut, out.String(), want)
			}
		}
	}
	if _, err := NewWriter(broken{}).Write([]byte("x")); !errors.Is(err, errBroken) {
		t.Errorf("the error of the writer behind it is %v", err)
	}
}

var errBroken = errors.New("broken")

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errBroken }

func TestTimes(t *testing.T) {
	const ms, s, min = time.Millisecond, time.Second, time.Minute
	for _, tt := range []struct{ got, want string }{
		{Clock(12*min + 41900*ms), "0:12:41"}, {Clock(-s), "-0:00:01"}, {Clock(26 * time.Hour), "26:00:00"},
		{Duration(0), "0.0 s"}, {Duration(3240 * ms), "3.2 s"}, {Duration(9999 * ms), "9.9 s"}, {Duration(3*s - time.Nanosecond), "3.0 s"}, {Duration(10 * s), "10 s"},
		{Duration(59999 * ms), "59 s"}, {Duration(min), "1:00 min"}, {Duration(4*min + 10*s), "4:10 min"},
		{Duration(3599900 * ms), "59:59 min"}, {Duration(60 * min), "1:00 h"}, {Duration(62 * min), "1:02 h"}, {Duration(-1), "– s"},
		{Count(1, "pass", "passes"), "1 pass"}, {Count(0, "pass", "passes"), "0 passes"}, {Times(1), "once"}, {Times(6), "6 times"},
	} {
		if tt.got != tt.want {
			t.Errorf("got %q, want %q", tt.got, tt.want)
		}
	}
}

// Long lines are broken between words, under their text; nothing is lost, and only a word that is
// wider than a line is too wide.
func TestWrap(t *testing.T) {
	path := "/" + strings.Repeat("w", 200)
	lines := []string{"  1.   Repair the engine's misfire before judging the converter: P0304, P0741 (ISO 14229-1, status of a trouble code)", "", "short", "\tx\x1b[2Jy", "in " + path + " and more"}
	for w := 20; w <= 120; w++ {
		out := Wrap(lines, w)
		for _, l := range out {
			if ansi.StringWidth(l) > w && !strings.Contains(l, path) || strings.Contains(l, "\x1b") {
				t.Errorf("%d wide: %q", w, l)
			}
		}
		joined := strings.Join(strings.Fields(strings.Join(out, " ")), " ")
		if want := strings.Join(strings.Fields(Clean(strings.Join(lines, " "))), " "); strings.ReplaceAll(joined, "?", "") != strings.ReplaceAll(want, "?", "") {
			t.Errorf("%d wide: %q", w, joined)
		}
		if w < 117 && !strings.HasPrefix(out[1], "       ") {
			t.Errorf("%d wide: %q is not under the text", w, out[1])
		}
	}
}

func TestWrap_UnderTheText(t *testing.T) {
	for line, want := range map[string]string{
		"  changed    misfire, all cylinders, of late  4 → 0":          "  changed    misfire, all\n             cylinders, of late\n             4 → 0",
		"  0:01:05  shudder, 72 rpm peak to peak at 81 km/h":           "  0:01:05  shudder, 72 rpm peak\n           to peak at 81 km/h",
		"      10.0 s  code check and more than fits":                  "      10.0 s  code check and more\n              than fits",
		"  not far  but the text begins behind it, and that is enough": "  not far  but the text begins\n           behind it, and that is\n           enough",
		"a sentence ends.  Another goes on for longer than the line":   "a sentence ends.  Another goes on\nfor longer than the line",
	} {
		if got := strings.Join(Wrap([]string{line}, 33), "\n"); got != want {
			t.Errorf("got\n%s\nwant\n%s", got, want)
		}
	}
}

var unitFirst = regexp.MustCompile(`^(km/h,|s|%)( |$)`)

// Running text has no number or word of its own to hang under.
func TestWrapText(t *testing.T) {
	const text = "12 passes with shudder, 146 rpm\x1b peak-to-peak at 64 km/h, 6.7 s of 21 s, 12 %"
	for w := 13; w < 90; w++ {
		lines := WrapText(text, w)
		for _, l := range lines {
			if Cells(l) > w || strings.HasPrefix(l, " ") || unitFirst.MatchString(l) {
				t.Errorf("%d wide: %q", w, l)
			}
		}
		if got := strings.Join(lines, " "); got != Clean(text) {
			t.Errorf("%d wide: %q", w, got)
		}
	}
}
