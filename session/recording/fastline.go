package recording

import (
	"math"
	"strconv"
	"time"

	"judder/obd"
	"judder/pids"
)

// maxMicros is the largest count of microseconds that a time.Duration holds.
const maxMicros = math.MaxInt64 / int64(time.Microsecond)

const (
	exchangeStart = `{"k":"x","t":`
	readingStart  = `{"k":"r","t":`
)

// fastParser reads the lines that make up nearly all of a file, exchanges and readings,
// in the exact shape in which [Writer] writes them. On anything else it gives up, and
// slowParse has the word: it decides nothing that slowParse would decide otherwise.
type fastParser struct {
	strings *interner
	lines   []obd.Line // room from which entries get their reply lines
	scratch []byte
}

// linesRoom is how many reply lines share one allocation.
const linesRoom = 512

// parse fills e from the part of a line before its CRC; false, with e as it was, when the
// line has another shape.
func (p *fastParser) parse(body []byte, e *Entry) bool {
	c := cursor{b: body}
	switch {
	case c.lit(exchangeStart):
		return p.exchange(&c, e)
	case c.lit(readingStart):
		return p.reading(&c, e)
	}
	return false
}

func (p *fastParser) exchange(c *cursor, e *Entry) bool {
	if cap(p.lines)-len(p.lines) < 8 {
		p.lines = make([]obd.Line, 0, linesRoom)
	}
	start := len(p.lines)
	sent := c.micros()
	c.need(`,"q":`)
	request := p.raw(c)
	c.need(`,"r":[`)
	for sep := "["; !c.bad && c.lit(sep); sep = ",[" {
		at := c.micros()
		c.need(",")
		p.lines = append(p.lines, obd.Line{At: at, Text: p.raw(c)})
		c.need("]")
	}
	c.need(`],"d":`)
	done := c.micros()
	c.need(`,"e":"`)
	ending := c.name(endingNames[:])
	c.need(`,"f":"`)
	form := c.name(formNames[:])
	if c.bad || c.i != len(c.b) {
		p.lines = p.lines[:start]
		return false
	}
	var lines []obd.Line
	if n := len(p.lines); n > start {
		lines = p.lines[start:n:n]
	}
	*e = Entry{Kind: KindExchange, At: done, Exchange: obd.Exchange{
		Sent: sent, Request: request, Lines: lines, Done: done,
		Ending: obd.Ending(ending), Form: obd.Form(form),
	}}
	return true
}

func (p *fastParser) reading(c *cursor, e *Entry) bool {
	at := c.micros()
	c.need(`,"ecu":`)
	ecu := p.plain(c)
	c.need(`,"signal":`)
	signal := p.plain(c)
	c.need(`,"v":`)
	value := c.number()
	if c.bad || c.i != len(c.b) {
		return false
	}
	*e = Entry{Kind: KindReading, At: at, Reading: pids.Sample{
		At: at, ECU: ecu, Signal: pids.Signal(signal), Value: value,
	}}
	return true
}

// plain reads a string of printable ASCII without escapes.
func (p *fastParser) plain(c *cursor) string {
	c.need(`"`)
	start := c.i
	c.skipPlain()
	text := c.b[start:c.i]
	c.need(`"`)
	if c.bad {
		return ""
	}
	return p.strings.get(text)
}

// raw reads a string that stands for bytes.
func (p *fastParser) raw(c *cursor) string {
	c.need(`"`)
	start := c.i
	c.skipPlain()
	if c.lit(`"`) {
		return p.strings.get(c.b[start : c.i-1])
	}
	p.scratch = append(p.scratch[:0], c.b[start:c.i]...)
	for !c.bad && !c.lit(`"`) {
		p.scratch = append(p.scratch, c.rawByte())
	}
	if c.bad {
		return ""
	}
	return p.strings.get(p.scratch)
}

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

// plainByte tells printable ASCII other than quote and backslash.
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

// name reads one of names and the quote behind it, and gives its index.
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
