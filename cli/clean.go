package cli

import (
	"bytes"
	"encoding/json"
	"io"
	"unicode/utf8"
)

// clean returns a writer that lets no control character pass except the newline: what a car,
// an adapter or a file says may end up in any message.
func clean(w io.Writer) io.Writer { return &cleaner{w: w} }

type cleaner struct {
	w    io.Writer
	half []byte // begin of a character whose rest comes with the next Write
}

func (c *cleaner) Write(p []byte) (int, error) {
	text := append(c.half, p...)
	n := len(text) - unfinished(text)
	_, err := c.w.Write(cleaned(text[:n], func(rune) string { return "?" }))
	c.half = append([]byte(nil), text[n:]...)
	if err != nil {
		return 0, err
	}
	return len(p), nil
}

// unfinished is how many bytes at the end of p begin a character and do not complete it.
func unfinished(p []byte) int {
	for n := 1; n < utf8.UTFMax && n <= len(p); n++ {
		if tail := p[len(p)-n:]; utf8.RuneStart(tail[0]) {
			if utf8.FullRune(tail) {
				return 0
			}
			return n
		}
	}
	return 0
}

// cleaned replaces control characters and bytes that are no UTF-8.
func cleaned(p []byte, by func(rune) string) []byte {
	if bytes.IndexFunc(p, isControl) < 0 && utf8.Valid(p) {
		return p
	}
	var out bytes.Buffer
	for _, r := range string(p) {
		if isControl(r) {
			out.WriteString(by(r))
		} else {
			out.WriteRune(r)
		}
	}
	return out.Bytes()
}

func isControl(r rune) bool {
	return r < ' ' && r != '\n' || r >= 0x7F && r <= 0x9F || r == '\u2028' || r == '\u2029' ||
		r >= '\u202A' && r <= '\u202E' || r >= '\u2066' && r <= '\u2069'
}

// writeJSON writes one value on one line. The encoder escapes the control characters below
// U+0020 but not those from U+007F on; these are escaped here.
func writeJSON(w io.Writer, v any) error {
	line, err := json.Marshal(v)
	if err != nil {
		return err
	}
	line = cleaned(line, func(r rune) string {
		const hex = "0123456789abcdef"
		return string([]byte{'\\', 'u', hex[r>>12&15], hex[r>>8&15], hex[r>>4&15], hex[r&15]})
	})
	_, err = w.Write(append(line, '\n'))
	return err
}
