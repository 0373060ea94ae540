package obd

import (
	"bytes"
	"slices"
	"strings"
	"time"
)

// VINMask hides identification numbers in raw replies, whatever they answer: a reply may come
// late, behind another request, and a snapshot may hold a number. The last six characters become
// asterisks in hex, so that a line keeps its layout. The zero value is ready.
type VINMask struct {
	known  []string             // numbers that were read whole
	open   map[string]*vinReply // long replies by sender, also across exchanges
	legacy map[string]*[vinLength]byte
	hot    time.Duration // until then a number may come late
}

const (
	vinLength = 17
	vinShown  = 11 // characters that say no more than the kind of car
)

// cell is one byte of a raw line: its two digits there, and its value.
type cell struct {
	high, low *byte
	value     byte
}

func (c cell) put(v byte) {
	const digits = "0123456789ABCDEF"
	*c.high, *c.low = digits[v>>4], digits[v&15]
}

const vinMark = '*'

// Hide gives an exchange without numbers; that given is left as it is.
func (m *VINMask) Hide(x Exchange) Exchange {
	if TellsVIN(x.Request) {
		m.hot = x.Done + recentWithin // as long as a reply is taken for a late one
	}
	lines := make([][]byte, len(x.Lines))
	for i := range x.Lines {
		lines[i] = []byte(x.Lines[i].Text)
		m.line(x.Form, lines[i], x.Sent < m.hot)
	}
	x.Lines = slices.Clone(x.Lines)
	for i := range lines {
		x.Lines[i].Text = string(lines[i])
	}
	return x
}

// TellsVIN tells whether the answer to a request holds the identification number (SAE J1979
// service 09, SAE J1979-2, ISO 14229-1).
func TellsVIN(request string) bool {
	return strings.HasPrefix(request, "0902") || strings.HasPrefix(request, "22F802") || strings.HasPrefix(request, "22F190")
}

// line hides what stands in one line, in place.
func (m *VINMask) line(form Form, text []byte, hot bool) {
	for _, vin := range m.known {
		if at := bytes.Index(text, []byte(vin)); at >= 0 {
			for i := vinShown; i < vinLength; i++ {
				text[at+i] = vinMark
			}
		}
	}
	digits, part, whole := hexDigits(form, text)
	head := map[Form]int{FormCAN11: 3, FormCAN29: 8, FormKLine: 6, FormJ1850: 6}[form]
	if form == FormBare && whole && len(digits) == 3 { // the length of a long reply
		m.begin("", int(anyHex(*digits[0]))<<8|int(anyHex(*digits[1]))<<4|int(anyHex(*digits[2])))
		return
	}
	if !whole || len(digits) < head || (len(digits)-head)%2 != 0 {
		m.unreadable(text, digits, hot)
		return
	}
	sender, cells := "", cellsOf(digits[head:])
	for _, d := range digits[:head] {
		sender += string(rune(*d))
	}
	switch {
	case part >= 0:
		m.part("", part, part == 0, cells)
	case form == FormCAN11 || form == FormCAN29:
		m.frame(sender, cells)
	case head == 6 && len(cells) > 1:
		m.message(sender, cellsOf(digits[:head]), cells[:len(cells)-1], &cells[len(cells)-1])
	default:
		m.message(sender, nil, cells, nil)
	}
}

// hexDigits are the digits of a line; part is the number that stands before a part of a long
// reply without headers, else -1. whole is false when anything else stands in it.
func hexDigits(form Form, text []byte) (digits []*byte, part int, whole bool) {
	part, whole = -1, true
	if form == FormBare && len(text) > 1 && text[1] == ':' && isAnyHex(text[0]) {
		part, text = int(anyHex(text[0])), text[2:]
	}
	for i := range text {
		switch {
		case isAnyHex(text[i]):
			digits = append(digits, &text[i])
		case text[i] != ' ' && text[i] != '\r' && text[i] != '\n':
			whole = false
		}
	}
	return digits, part, whole
}

func isAnyHex(c byte) bool {
	return c >= '0' && c <= '9' || c >= 'A' && c <= 'F' || c >= 'a' && c <= 'f'
}

func anyHex(c byte) byte {
	switch {
	case c >= 'a':
		return c - 'a' + 10
	case c >= 'A':
		return c - 'A' + 10
	}
	return c - '0'
}

func cellsOf(digits []*byte) []cell {
	cells := make([]cell, 0, len(digits)/2)
	for i := 0; i+1 < len(digits); i += 2 {
		cells = append(cells, cell{digits[i], digits[i+1], anyHex(*digits[i])<<4 | anyHex(*digits[i+1])})
	}
	return cells
}

func values(cells []cell) []byte {
	b := make([]byte, len(cells))
	for i := range cells {
		b[i] = cells[i].value
	}
	return b
}
