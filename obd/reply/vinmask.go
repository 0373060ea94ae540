package reply

import (
	"bytes"
	"judder/obd"
	"maps"
	"slices"
)

// VINMask hides identification numbers in raw replies, whatever they answer: a reply may come
// late, behind another request, and a snapshot may hold a number. The last six characters become
// asterisks in hex, so that a line keeps its layout. A line that is accounted for stays as it is
// otherwise: it is part of a reply that is whole and answers what was asked lately, or tells a
// whole number. Any other may be a damaged piece of a number, and no three characters of one
// stay in it. The zero value is ready.
type VINMask struct {
	known []string               // numbers that were read whole
	asked []recentAsk            // the latest last
	open  map[string]*vinReply   // replies under way, also across exchanges
	rows  map[vinRow][]*vinReply // the same of numbered lines, several where nobody shows a name
	tail  []vinDigit             // the end of the exchange before, when nothing accounts for it
}

const (
	vinLength = 17
	vinShown  = 11 // characters that say no more than the kind of car
	vinMark   = '*'
)

// Hide gives an exchange without numbers; that given is left as it is.
func (m *VINMask) Hide(x obd.Exchange) obd.Exchange {
	m.ask(&x)
	form := x.Form
	if form == obd.FormUnknown {
		form = InferForm(&x)
	}
	lines := make([]*vinLine, len(x.Lines))
	for i, l := range x.Lines {
		lines[i] = readVINLine(form, l.Text)
		m.plain(lines[i].text)
		m.take(l, lines[i])
	}
	m.scrub(lines)
	x.Lines = slices.Clone(x.Lines)
	for i, l := range lines {
		l.check(x.Lines[i].Text)
		x.Lines[i].Text = string(l.text)
	}
	return x
}

// ask remembers what is asked, as Decoder does.
func (m *VINMask) ask(x *obd.Exchange) {
	a := ParseQuestion(x.Request)
	if a.N == 0 {
		return
	}
	if a.Service() == 0x09 { // what came of it before ends here
		maps.DeleteFunc(m.rows, func(row vinRow, _ []*vinReply) bool { return a.Has(row.item) })
	}
	if m.asked = append(m.asked, recentAsk{a, x.Sent}); len(m.asked) > recentAsks {
		m.asked = slices.Delete(m.asked, 0, 1)
	}
}

// plain hides a known number that stands there in letters.
func (m *VINMask) plain(text []byte) {
	for _, vin := range m.known {
		if at := bytes.Index(text, []byte(vin)); at >= 0 {
			for i := vinShown; i < vinLength; i++ {
				text[at+i] = vinMark
			}
		}
	}
}

// vinPiece is the shortest row of characters that is hidden in a line that nothing accounts for.
const vinPiece = 3

// scrub hides what may be a piece of a number in the lines that nothing accounts for. Those that
// follow each other count as one: they may be a single line that was split.
func (m *VINMask) scrub(lines []*vinLine) {
	for _, l := range lines {
		if l.told || l.named {
			hidePieces(m.tail)
			m.tail = nil
		}
		if !l.told {
			m.tail = append(m.tail, l.digits()...)
		}
	}
	m.tail = hidePieces(m.tail)
}

// hidePieces hides the pieces in a row of digits, at either alignment. It gives what a piece may
// begin with that goes on in the next exchange.
func hidePieces(row []vinDigit) (tail []vinDigit) {
	for shift := range 2 {
		for from := shift; from+1 < len(row); {
			to, padding := from, true
			for to+1 < len(row) && row[to].hex && row[to+1].hex && vinCharacter(row[to].value<<4|row[to+1].value) {
				padding = padding && row[to].value<<4|row[to+1].value == padLetter
				to += 2
			}
			for i := from; i < to && to-from >= 2*vinPiece && !padding; i += 2 {
				row[i].hide('2')
				row[i+1].hide('A')
			}
			from = to + 2
		}
	}
	const most = 2*vinPiece - 1
	return slices.Clone(row[max(0, len(row)-most):])
}

// padLetter is the one byte that computers pad with and that is a character of a number as well.
const padLetter = 0x55

func vinCharacter(c byte) bool { return c >= '0' && c <= '9' || c >= 'A' && c <= 'Z' }
