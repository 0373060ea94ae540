package prose

import (
	"io"
	"unicode/utf8"
)

// NewWriter returns a writer that passes text on to w with "?" instead of every character that
// steers a terminal and of every broken byte. Line feeds pass.
func NewWriter(w io.Writer) io.Writer { return &writer{w: w} }

type writer struct {
	w    io.Writer
	half []byte // the beginning of a character; the rest comes with the next Write
}

func (c *writer) Write(p []byte) (int, error) {
	text := append(c.half, p...)
	n := len(text) - unfinished(text)
	out := make([]byte, 0, n)
	for _, r := range string(text[:n]) {
		if r == utf8.RuneError || r != '\n' && Steers(r) {
			r = '?'
		}
		out = utf8.AppendRune(out, r)
	}
	c.half = append([]byte(nil), text[n:]...)
	if _, err := c.w.Write(out); err != nil {
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
