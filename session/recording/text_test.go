package recording

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf8"
)

// encoding/json is the judge of what the strings we write mean.
func TestAppendText_ReadsBackAsCleanText(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", ""},
		{"plain", "plain"},
		{`quote " and \ backslash`, `quote " and \ backslash`},
		{"motor läuft – 東京 🚗", "motor läuft – 東京 🚗"},
		{"line\nfeed\ttab\r", "line feed tab "},
		{"escape \x1b[31m and \x00 and \x7f", "escape  [31m and   and  "},
		{"C1 \u009b31m", "C1  31m"},
		{"no UTF-8 \xff\xc3", "no UTF-8 \ufffd\ufffd"},
		{"separators \u2028\u2029 \u202e<b>&", "separators     <b>&"},
	} {
		var got string
		if err := json.Unmarshal(appendText(nil, c.text), &got); err != nil || got != c.want {
			t.Errorf("%q: JSON reads %q, %v; want %q", c.text, got, err, c.want)
		}
		if clean := cleanText(c.text); clean != c.want {
			t.Errorf("cleanText(%q) = %q, want %q", c.text, clean, c.want)
		}
	}
}

// ISO 8859-1 is the first 256 code points of Unicode, so encoding/json must read each byte
// as the code point of its number.
func TestAppendRaw_EachByteIsItsCodePoint(t *testing.T) {
	for n := range 256 {
		quoted := appendRaw(nil, string([]byte{byte(n)}))
		var got string
		if err := json.Unmarshal(quoted, &got); err != nil || got != string(rune(n)) {
			t.Errorf("byte %#02x: %s reads %q, %v", n, quoted, got, err)
		}
		control := n < 0x20 || n >= 0x7f && n <= 0x9f
		if escaped := strings.HasPrefix(string(quoted), `"\u00`); escaped != control || !utf8.Valid(quoted) {
			t.Errorf("byte %#02x is written %s", n, quoted)
		}
	}
}

func TestRawFromLatin1(t *testing.T) {
	for _, c := range []struct {
		in, want string
		ok       bool
	}{
		{"", "", true}, {"A\u0000\u007f\u0080\u00ff", "A\x00\x7f\x80\xff", true},
		{"\u0100", "", false}, {"A\ufffd", "", false}, {"A\xff", "", false}, // reads as U+FFFD
	} {
		if got, ok := rawFromLatin1(c.in); got != c.want || ok != c.ok {
			t.Errorf("%q: %q, %v; want %q, %v", c.in, got, ok, c.want, c.ok)
		}
	}
}

// cursor.number takes a number of RFC 8259 and nothing else, as encoding/json does.
func TestCursor_Number(t *testing.T) {
	for _, text := range []string{
		"0", "-0", "1", "10", "-1726.25", "1e5", "1E+5", "2.5e-3", "0.1", "1e308", "5e-324", "123456789012345678901234567890",
		"", "-", "+1", "01", "-01", ".5", "5.", "1e", "1e+", "1.e5", "0x10", "1_0", "NaN", "Inf", "Infinity", "1e999", "nul", "--1", "1,5", "1 ",
	} {
		var want float64
		wantOK := json.Unmarshal([]byte(text), &want) == nil && strings.TrimSpace(text) == text
		c := cursor{b: []byte(text)}
		got := c.number()
		if ok := !c.bad && c.i == len(c.b); ok != wantOK || ok && got != want {
			t.Errorf("%q: %v, %v; encoding/json says %v, %v", text, got, ok, want, wantOK)
		}
	}
	c := cursor{b: []byte("null")}
	if got := c.number(); !math.IsNaN(got) || c.bad {
		t.Errorf("null gives %v", got)
	}
}

func TestCursor_Micros(t *testing.T) {
	for _, text := range []string{
		"0", "-0", "1", "-1", "12345678", "9223372036854775", "-9223372036854775",
		"", "-", "+1", "01", "-01", "9223372036854776", "99999999999999999999", "1.0", "1e3", "0x1",
	} {
		var micros int64
		wantOK := json.Unmarshal([]byte(text), &micros) == nil && micros <= maxMicros && micros >= -maxMicros
		c := cursor{b: []byte(text)}
		got := c.micros()
		ok := !c.bad && c.i == len(c.b)
		if ok != wantOK || ok && got != time.Duration(micros)*time.Microsecond {
			t.Errorf("%q: %v, %v; encoding/json says %d, %v", text, got, ok, micros, wantOK)
		}
	}
}
