package obd

import (
	"bytes"
	"fmt"
	"slices"

	"judder/pids"
)

// vinReply is a long reply under way (ISO 15765-2), its parts each at its place: what is missing
// is zero.
type vinReply struct {
	data  []byte
	cells []cell // of the bytes; empty for those that are missing
	parts int    // so many came, the first one left out
}

func (m *VINMask) begin(sender string, length int) {
	if m.open == nil {
		m.open = map[string]*vinReply{}
	}
	m.open[sender] = &vinReply{data: make([]byte, length), cells: make([]cell, length)}
}

// frame takes one frame of CAN.
func (m *VINMask) frame(sender string, cells []cell) {
	if len(cells) == 0 {
		return
	}
	switch control := cells[0].value; control >> 4 {
	case 0:
		m.hide(values(cells[1:]), cells[1:])
	case 1:
		if len(cells) > 1 {
			m.begin(sender, int(control&15)<<8|int(cells[1].value))
			m.part(sender, 0, true, cells[2:])
		}
	case 2:
		m.part(sender, int(control&15), false, cells[1:])
	default: // no frame: a line that lost characters
		m.orphan(cells)
	}
}

// Bytes of a long reply in its first part and in each of the others.
const (
	firstPart  = 6
	furtherOne = 7
)

// part takes a part by the last hex digit of its number. One that belongs to nothing may be the
// end of a number whose beginning was lost.
func (m *VINMask) part(sender string, number int, first bool, cells []cell) {
	r := m.open[sender]
	at := 0
	if r != nil && !first {
		place := r.parts + (number-r.parts-1)&15
		at = firstPart + furtherOne*place
		if at < len(r.data) {
			r.parts = place + 1
		}
	}
	if r == nil || at >= len(r.data) {
		m.orphan(cells)
		return
	}
	for i := range cells[:min(len(cells), len(r.data)-at)] {
		r.data[at+i], r.cells[at+i] = cells[i].value, cells[i]
	}
	cut := len(cells) < furtherOne && !first && at+len(cells) < len(r.data)
	m.hide(r.data, r.cells)
	if cut { // a byte is lost, and the others stand elsewhere
		m.orphan(cells)
	}
}

// orphan hides all that may be a piece of a number.
func (m *VINMask) orphan(cells []cell) {
	const piece = 3
	for from := 0; from < len(cells); {
		to := from
		for to < len(cells) && vinCharacter(cells[to].value) {
			to++
		}
		if to-from >= piece {
			for _, c := range cells[from:to] {
				c.put(vinMark)
			}
		}
		from = to + 1
	}
}

func vinCharacter(c byte) bool { return c >= '0' && c <= '9' || c >= 'A' && c <= 'Z' }

// hide hides the numbers in a reply, and learns them.
func (m *VINMask) hide(data []byte, cells []cell) {
	hidden := slices.Clone(data)
	for _, vin := range pids.HideVINs(hidden, m.known...) {
		m.learn(vin)
	}
	for i := range hidden {
		if hidden[i] != data[i] && cells[i].high != nil {
			cells[i].put(hidden[i])
		}
	}
}

// knownMost bounds the numbers that are kept: one car has one, or as many as computers.
const knownMost = 32

func (m *VINMask) learn(vin string) {
	if !slices.Contains(m.known, vin) && len(m.known) < knownMost {
		m.known = append(m.known, vin)
	}
}

// message takes a whole reply without frames; on the older buses with the header and the check
// byte around it. There a number comes in numbered lines of four bytes.
func (m *VINMask) message(sender string, head, cells []cell, check *cell) {
	data := values(cells)
	if n := len(data); n == legacyLine && data[0] == 0x49 && data[1] == 0x02 && data[2] >= 1 && data[2] <= legacyLines {
		m.numbered(sender, int(data[2]), cells[3:])
	} else {
		m.hide(data, cells)
	}
	if check == nil {
		return
	}
	was, is := append(values(head), data...), append(values(head), now(cells)...)
	for _, sum := range []func([]byte) byte{kLineSum, j1850CRC} {
		if sum(was) == check.value {
			check.put(sum(is)) // that of the number would tell something of it
			return
		}
	}
}

// now are the values as they stand in the line.
func now(cells []cell) []byte {
	b := make([]byte, len(cells))
	for i, c := range cells {
		b[i] = anyHex(*c.high)<<4 | anyHex(*c.low)
	}
	return b
}

// A number on the older buses: five lines 49 02 nn with four bytes each, three zeros in front
// (SAE J1979).
const (
	legacyLine  = 7
	legacyLines = 5
	legacyFront = 3
)

func (m *VINMask) numbered(sender string, line int, cells []cell) {
	if m.legacy == nil {
		m.legacy = map[string]*[vinLength]byte{}
	}
	if m.legacy[sender] == nil {
		m.legacy[sender] = &[vinLength]byte{}
	}
	vin := m.legacy[sender]
	for i, c := range cells {
		at := (line-1)*len(cells) + i - legacyFront
		if at < 0 {
			continue
		}
		if vin[at] = c.value; at >= vinShown && c.value > ' ' && c.value <= '~' {
			c.put(vinMark)
		}
	}
	if bytes.IndexByte(vin[:], 0) < 0 {
		m.learn(string(vin[:]))
	}
}

// unreadable hides a line that is no whole one, if a piece of a number may stand in it: of one
// that is known, or any while one may come.
func (m *VINMask) unreadable(text []byte, digits []*byte, hot bool) {
	const piece = 4 // characters
	var hex []byte
	for _, d := range digits {
		hex = append(hex, *d)
	}
	hex = bytes.ToUpper(hex)
	found := false
	for _, vin := range m.known {
		end := fmt.Appendf(nil, "%X", vin[vinShown:])
		for i := 0; i+2*piece <= len(end); i++ {
			found = found || bytes.Contains(hex, end[i:i+2*piece])
		}
	}
	for i := 0; hot && i+2*piece <= len(hex); i++ {
		run := true
		for k := i; k < i+2*piece; k += 2 {
			run = run && vinCharacter(anyHex(hex[k])<<4|anyHex(hex[k+1]))
		}
		found = found || run
	}
	for i := 0; found && i < len(text); i++ {
		if isAnyHex(text[i]) {
			text[i] = vinMark
		}
	}
}
