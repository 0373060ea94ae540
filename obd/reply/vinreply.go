package reply

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"judder/obd"
	"judder/pids/identity"
)

// vinReply is a long reply under way.
type vinReply struct {
	want  int    // its length
	next  byte   // the number of the part that comes next; of numbered lines, of the last one
	cells []cell // of the bytes so far
	lines []*vinLine
}

// vinRow is what numbered lines of the older buses have in common: who tells what.
type vinRow struct {
	id   uint32
	item byte
}

// take takes a line for what it is in its layout.
func (m *VINMask) take(raw obd.Line, l *vinLine) {
	switch n, length := bareLength(strings.TrimSpace(raw.Text)); {
	case l.form == obd.FormBare && length:
		m.begin("", n).lines = []*vinLine{l}
	case len(l.cells) == 0:
	case l.part >= 0:
		m.part("", raw, byte(l.part), l, l.cells)
	case l.form.CAN():
		m.canFrame(fmt.Sprintf("%X", l.frame.id), raw, l)
	default:
		m.message(raw, l)
	}
}

func (m *VINMask) begin(sender string, length int) *vinReply {
	if m.open == nil {
		m.open = map[string]*vinReply{}
	}
	m.open[sender] = &vinReply{want: length}
	return m.open[sender]
}

// canFrame takes a frame of ISO 15765-2, as isotp.Assembler does.
func (m *VINMask) canFrame(sender string, raw obd.Line, l *vinLine) {
	const frame = 8
	control := l.cells[0].value
	switch n := int(control & 15); {
	case control>>4 == 0 && n > 0 && n < len(l.cells):
		m.reply(raw, l.cells[1:1+n], l)
		hidePadding(l.cells[1+n:])
	case control>>4 == 1 && len(l.cells) == frame:
		m.begin(sender, n<<8|int(l.cells[1].value))
		m.part(sender, raw, 0, l, l.cells[2:])
	case control>>4 == 2:
		m.part(sender, raw, byte(n), l, l.cells[1:])
	}
}

// part takes a part of a long reply, which must be the next one and as long as it must be; the
// last may be cut at the length of the reply. Any other ends the reply.
func (m *VINMask) part(sender string, raw obd.Line, number byte, l *vinLine, cells []cell) {
	full := 7
	r := m.open[sender]
	if r != nil && len(r.cells) == 0 {
		full = 6
	}
	if r == nil || number != r.next || len(cells) != full && len(cells) != min(full, r.want-len(r.cells)) {
		delete(m.open, sender)
		return
	}
	r.cells, r.lines, r.next = append(r.cells, cells...), append(r.lines, l), (r.next+1)&15
	if len(r.cells) < r.want {
		return
	}
	delete(m.open, sender)
	m.reply(raw, r.cells[:r.want], r.lines...)
	hidePadding(r.cells[r.want:])
}

// hidePadding hides pieces in what stands behind a reply: some computers fill up with what they
// sent before.
func hidePadding(cells []cell) {
	for from := 0; from < len(cells); from++ {
		to, same := from, true
		for to < len(cells) && vinCharacter(cells[to].value) {
			same = same && cells[to].value == padLetter
			to++
		}
		for i := from; i < to && to-from >= vinPiece && !same; i++ {
			cells[i].put(vinMark)
		}
		from = to
	}
}

// A number on the older buses: five lines 49 02 nn with four bytes each, three zeros in front
// (SAE J1979).
const (
	legacyLine = 7
	legacyHead = 3
)

// legacyLines are the lines that belong together of what service 09 tells on the older buses
// (SAE J1979: the number, a calibration's name, the computer's name); others stand alone.
var legacyLines = map[byte]byte{0x02: 5, 0x04: 4, 0x0A: 5}

// message takes a whole reply without frames.
func (m *VINMask) message(raw obd.Line, l *vinLine) {
	data := values(l.cells)
	switch {
	case len(data) == legacyLine && data[0] == 0x49 && data[2] > 0 && (l.sum == nil || data[1] == 0x02):
		m.numbered(raw, l, data[1], data[2])
	case l.sum == nil && likePiece(data) || !l.whole && len(data) > obd.MaxRequestBytes:
		m.reply(raw, l.cells) // accounts for nothing
	default:
		m.reply(raw, l.cells, l)
	}
}

// likePiece tells whether a line of which no length and no check byte shows that it is whole is more
// likely a damaged one of a number than a reply: it has nothing but a number's characters, or it is
// but one digit off from a line of one.
func likePiece(data []byte) bool {
	if !slices.ContainsFunc(data, func(c byte) bool { return !vinCharacter(c) }) {
		return true
	}
	if len(data) != legacyLine {
		return false
	}
	for n := byte(1); n <= legacyLines[0x02]; n++ {
		off := 0
		for i, b := range []byte{0x49, 0x02, n} {
			if d := b ^ data[i]; d&0xF0 != 0 && d&0x0F != 0 {
				off += 2
			} else if d != 0 {
				off++
			}
		}
		if off <= 1 {
			return true
		}
	}
	return false
}

// rowsMost bounds the rows of numbered lines under way: the eight computers that ISO 15765-4 allows
// cannot be told apart without headers.
const rowsMost = 8

// numbered takes a numbered line of the older buses, which must be the next one of a row; of several
// computers without names it does not matter whose.
func (m *VINMask) numbered(raw obd.Line, l *vinLine, item, number byte) {
	l.named = true
	row := vinRow{l.frame.id, item}
	rows := m.rows[row]
	if number == 1 {
		rows = append(rows[max(0, len(rows)+1-rowsMost):], &vinReply{})
		if m.rows == nil {
			m.rows = map[vinRow][]*vinReply{}
		}
		m.rows[row] = rows
	}
	for _, r := range slices.Backward(rows) {
		if r.next != number-1 {
			continue
		}
		if len(r.cells) == 0 {
			r.cells = append(r.cells, cell{value: 0x49}, cell{value: item})
		}
		r.cells, r.lines, r.next = append(r.cells, l.cells[legacyHead:]...), append(r.lines, l), number
		if number%max(legacyLines[item], 1) == 0 {
			m.reply(raw, r.cells, r.lines...)
			r.cells, r.lines = nil, nil
		}
		return
	}
}

// reply takes a whole reply: the numbers in it are hidden and learnt, and its lines are accounted
// for if it answers what was asked lately. One that must tell a number, and tells none that is
// whole, was damaged.
func (m *VINMask) reply(raw obd.Line, cells []cell, lines ...*vinLine) {
	data := values(cells)
	hidden := slices.Clone(data)
	found := identity.HideVINs(hidden, m.known...)
	for i := range hidden {
		if hidden[i] != data[i] && cells[i].high != nil {
			cells[i].put(hidden[i])
		}
	}
	for _, vin := range found {
		m.learn(vin)
	}
	for _, l := range lines {
		l.told = len(found) > 0 || !mustTell(data) && m.answers(raw, data)
	}
}

func mustTell(reply []byte) bool {
	return slices.ContainsFunc([]string{"\x49\x02", "\x62\xF8\x02", "\x62\xF1\x90"}, func(head string) bool {
		return bytes.HasPrefix(reply, []byte(head))
	})
}

// answers tells whether a reply answers what was asked lately.
func (m *VINMask) answers(raw obd.Line, reply []byte) bool {
	return slices.ContainsFunc(m.asked, func(r recentAsk) bool {
		return raw.At-r.sent <= recentWithin && r.AnsweredBy(reply)
	})
}

// knownMost bounds the numbers that are kept: one car has one, or as many as computers.
const knownMost = 32

func (m *VINMask) learn(vin string) {
	if !slices.Contains(m.known, vin) && len(m.known) < knownMost {
		m.known = append(m.known, vin)
	}
}
