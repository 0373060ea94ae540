package recording

import (
	"math"
	"strconv"
	"time"
)

// cursor walks over a line; bad is set at the first thing that is not as expected.
type cursor struct {
	b   []byte
	i   int
	bad bool
}

// lit steps over s if it comes next.
func (c *cursor) lit(s string) bool {
	if end := c.i + len(s); end <= len(c.b) && string(c.b[c.i:end]) == s {
		c.i = end
		return true
	}
	return false
}

func (c *cursor) need(s string) {
	if !c.lit(s) {
		c.bad = true
	}
}

// plainByte holds which bytes are printable ASCII other than quote and backslash.
var plainByte = func() (t [256]bool) {
	for b := 0x20; b < 0x7f; b++ {
		t[b] = b != '"' && b != '\\'
	}
	return t
}()

func (c *cursor) skipPlain() {
	for c.i < len(c.b) && plainByte[c.b[c.i]] {
		c.i++
	}
}

// rawByte reads one byte of a raw string: itself, escaped, or two bytes of UTF-8.
func (c *cursor) rawByte() byte {
	rest := c.b[c.i:]
	switch {
	case len(rest) == 0:
	case plainByte[rest[0]]:
		c.i++
		return rest[0]
	case len(rest) >= 2 && rest[0]&^1 == 0xc2 && rest[1]&0xc0 == 0x80: // U+0080 to U+00FF
		c.i += 2
		return rest[0]<<6 | rest[1]&0x3f
	case len(rest) >= 2 && rest[0] == '\\' && (rest[1] == '"' || rest[1] == '\\'):
		c.i += 2
		return rest[1]
	case len(rest) >= 6 && string(rest[:4]) == `\u00`:
		if n, err := strconv.ParseUint(string(rest[4:6]), 16, 8); err == nil {
			c.i += 6
			return byte(n)
		}
	}
	c.bad = true
	return 0
}

// micros reads a JSON integer of microseconds.
func (c *cursor) micros() time.Duration {
	negative := c.lit("-")
	start := c.i
	var n int64
	for c.i < len(c.b) && c.b[c.i] >= '0' && c.b[c.i] <= '9' && c.i-start < 17 {
		n = n*10 + int64(c.b[c.i]-'0')
		c.i++
	}
	digits := c.i - start
	if digits == 0 || digits > 1 && c.b[start] == '0' || n > maxMicros {
		c.bad = true
		return 0
	}
	if negative {
		n = -n
	}
	return time.Duration(n) * time.Microsecond
}

// name reads one of names and the quote after it, and gives its index.
func (c *cursor) name(names []string) int {
	start := c.i
	c.skipPlain()
	n := indexOf(names, c.b[start:c.i])
	c.need(`"`)
	if n < 0 {
		c.bad = true
		return 0
	}
	return n
}

// number reads a JSON number, or null for NaN.
func (c *cursor) number() float64 {
	if c.lit("null") {
		return math.NaN()
	}
	start := c.i
	c.lit("-")
	if !c.lit("0") {
		c.digits()
	}
	if c.lit(".") {
		c.digits()
	}
	if c.lit("e") || c.lit("E") {
		if !c.lit("+") {
			c.lit("-")
		}
		c.digits()
	}
	if c.bad {
		return 0
	}
	v, err := strconv.ParseFloat(string(c.b[start:c.i]), 64)
	if err != nil {
		c.bad = true
	}
	return v
}

func (c *cursor) digits() {
	start := c.i
	for c.i < len(c.b) && c.b[c.i] >= '0' && c.b[c.i] <= '9' {
		c.i++
	}
	if c.i == start {
		c.bad = true
	}
}
