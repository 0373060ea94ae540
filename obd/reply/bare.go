package reply

import (
	"strings"

	"github.com/judder-obd/judder/obd"
)

// bareReply puts together a long reply of an adapter that shows no headers:
//
//	014                    length, three hex digits
//	0: 49 02 01 31 44 34   parts, numbered 0..F, 0, ...
//	1: 47 50 30 30 52 35 35
//
// Two ECUs that answer at once interleave and cannot be known apart; their parts then repeat
// a number, and all is dropped.
//
// As on the bus (ISO 15765-2) part 0 holds six bytes and every other seven; the last may be
// cut at the length of the reply, by adapters that never show what the car pads with.
type bareReply struct {
	want   int    // its length; 0 when there is none under way
	next   byte   // number of the part that comes next
	got    []byte // of the parts so far
	parts  []Part
	padded int // last parts seen with what was padded, up to surelyPadded; one off for each cut
}

const surelyPadded = 3

// drop forgets a reply that never became whole, and reports whether there was one.
func (p *bareReply) drop() bool {
	was := p.want > 0
	p.want, p.got, p.parts = 0, p.got[:0], p.parts[:0]
	return was
}

// bareLine takes a line of the form without headers.
func (d *Decoder) bareLine(r *Request, o origin, text string) {
	if n, ok := bareLength(text); ok {
		d.bare.drop()
		d.bare.want, d.bare.next = n, 0
		d.bare.parts = append(d.bare.parts, Part{Line: o.line, Start: o.end - len(text)})
		return
	}
	if i := strings.IndexByte(text, ':'); i == 1 && obd.IsHex(text[0]) {
		d.barePart(o, obd.HexValue(text[0]), text[2:])
		return
	}
	f, ok := d.parse(obd.FormBare, text)
	if !ok || len(f.bytes) > obd.MaxRequestBytes {
		if r.ToCar() {
			d.Counts.Damaged++
		}
		return
	}
	d.message(Message{At: o.at, Data: f.bytes, Parts: d.keepParts(o.part(text, &f, 0, 0))})
}

// barePart takes a numbered part of a long reply. Any but the next one ends the reply.
func (d *Decoder) barePart(o origin, number byte, text string) {
	p := &d.bare
	f, ok := d.parse(obd.FormBare, text)
	if !ok || p.want == 0 || number != p.next || !p.fits(len(f.bytes)) {
		p.drop()
		d.Counts.Damaged++
		return
	}
	p.parts = append(p.parts, o.part(text, &f, 0, len(p.got)))
	p.got = append(p.got, f.bytes...)
	p.next = (p.next + 1) & 0x0F
	if len(p.got) < p.want {
		return
	}
	p.parts[len(p.parts)-1].To = p.want
	data, parts := d.keep(p.got[:p.want]), d.keepParts(p.parts...)
	p.drop()
	d.message(Message{At: o.at, Data: data, Parts: parts})
}

// fits reports whether the part that comes next may have so many bytes: one that lost some would
// move all that follows.
func (p *bareReply) fits(n int) bool {
	const first, other = 6, 7
	full := other
	if len(p.got) == 0 {
		full = first
	}
	left := p.want - len(p.got)
	switch {
	case left >= full:
		return n == full
	case n == full:
		p.padded = min(p.padded+1, surelyPadded)
		return true
	case n == left && p.padded > 0:
		p.padded--
		return false
	}
	return n == left
}

// LongBare reports whether a long reply came in the form without headers.
func LongBare(x *obd.Exchange) bool {
	for i := range len(x.Lines) - 1 {
		next := strings.TrimSpace(x.Lines[i+1].Text)
		if _, ok := bareLength(strings.TrimSpace(x.Lines[i].Text)); ok && strings.HasPrefix(next, "0:") {
			return true
		}
	}
	return false
}

// bareLength reads the length line of a long reply.
func bareLength(text string) (n int, ok bool) {
	if len(text) != 3 {
		return 0, false
	}
	for i := range len(text) {
		if !obd.IsHex(text[i]) {
			return 0, false
		}
		n = n<<4 | int(obd.HexValue(text[i]))
	}
	return n, n >= 8
}
