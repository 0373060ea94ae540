package recording

import (
	"math"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
)

// maxMicros is the largest count of microseconds that a time.Duration holds.
const maxMicros = math.MaxInt64 / int64(time.Microsecond)

const (
	exchangeStart = `{"k":"x","t":`
	readingStart  = `{"k":"r","t":`
)

// fastParser reads the lines that make up nearly all of a file, exchanges and readings,
// in the exact shape in which [Writer] writes them. On anything else it gives up, and
// slowParse reads the line: the two never differ.
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

// raw reads a string of bytes in Latin-1.
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
