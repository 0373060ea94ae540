package reply

import (
	"strings"

	"judder/obd"
)

// bareParts puts together a long reply of an adapter that shows no headers:
//
//	014                    length, three hex digits
//	0: 49 02 01 31 44 34   parts, numbered 0..F, 0, ...
//	1: 47 50 30 30 52 35 35
//
// Two ECUs that answer at once interleave and cannot be told apart; their parts then repeat
// a number, and all is dropped.
//
// As on the bus (ISO 15765-2) part 0 holds six bytes and every other seven; the last may be
// cut at the length of the reply, by adapters that never show what the car pads with.
type bareParts struct {
	want   int
	next   byte
	got    []byte
	parts  []Part
	padded int // last parts seen with what was padded, up to surelyPadded; one off for each cut
}

const surelyPadded = 3

// drop forgets a reply that never became whole and tells whether there was one.
func (p *bareParts) drop() bool {
	was := p.want > 0
	p.want, p.got, p.parts = 0, p.got[:0], p.parts[:0]
	return was
}

func (d *Decoder) bareLine(a *ask, o origin, text string) {
	s := d.sender(obd.FormBare, 0)
	if n, ok := bareLength(text); ok {
		s.bare.drop()
		s.bare.want, s.bare.next = n, 0
		s.bare.parts = append(s.bare.parts, Part{Line: o.line, Start: o.end - len(text)})
		return
	}
	if i := strings.IndexByte(text, ':'); i == 1 && obd.IsHex(text[0]) {
		d.barePart(s, o, obd.HexValue(text[0]), text[2:])
		return
	}
	f, arena, ok := parseFrame(d.arena, obd.FormBare, text)
	d.arena = arena
	if !ok || len(f.bytes) > obd.MaxRequestBytes {
		if a.N > 0 {
			d.Counts.Damaged++
		}
		return
	}
	d.message(Message{At: o.at, Data: f.bytes, Parts: d.keepParts(o.part(text, &f, 0, 0))})
}

func (d *Decoder) barePart(s *sender, o origin, number byte, text string) {
	p := &s.bare
	f, arena, ok := parseFrame(d.arena, obd.FormBare, text)
	d.arena = arena
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

// fits tells whether the part that comes next may have so many bytes: one that lost some would
// move all that follows.
func (p *bareParts) fits(n int) bool {
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
