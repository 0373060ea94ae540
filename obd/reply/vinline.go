package reply

import (
	"judder/obd"
	"strings"
	"unicode"
)

// vinLine is a raw line while numbers are looked for in it.
type vinLine struct {
	text  []byte
	frame frame
	form  obd.Form          // of its bytes: an adapter that forgot its settings shows no headers
	whole bool              // the line is whole in the layout that it should have
	cells []cell            // the bytes behind the header, without the check byte; none when it is damaged
	all   []cell            // all bytes, on the buses with a check byte
	sum   func([]byte) byte // of the check byte; nil for none
	part  int               // the number in front of a part of a long reply without headers, else -1
	named bool              // it begins as no piece of another line does
	told  bool              // it is accounted for
	gone  bool              // all of its digits are hidden
}

// cell is one byte of a raw line: its two digits there, and its value.
type cell struct {
	high, low *byte
	value     byte
}

func (c cell) put(v byte) {
	const digits = "0123456789ABCDEF"
	*c.high, *c.low = digits[v>>4], digits[v&15]
}

// readVINLine takes a line apart.
func readVINLine(form obd.Form, raw string) *vinLine {
	l := &vinLine{text: []byte(raw), form: form, part: -1}
	from := len(raw) - len(strings.TrimLeftFunc(raw, unicode.IsSpace))
	data := strings.TrimSpace(raw)
	if st, rest := StatusOf(data); st != nil {
		if st.Action != ActNothing || rest == "" {
			return l
		}
		from += len(data) - len(rest)
		data = rest
	}
	if form == obd.FormBare && len(data) > 1 && data[1] == ':' && obd.IsHex(data[0]) {
		l.part, data = int(obd.HexValue(data[0])), data[2:]
		from += 2
	}
	if l.frame, _, l.whole = parseFrame(nil, form, data); !l.whole {
		l.form = obd.FormBare
		if _, _, ok := parseFrame(nil, l.form, data); !ok || l.part >= 0 {
			return l
		}
	}
	l.split(from, from+len(data))
	return l
}

// split finds the bytes between two places of the text.
func (l *vinLine) split(from, to int) {
	var digits []*byte
	for i := from; i < to; i++ {
		if obd.IsHex(l.text[i]) {
			digits = append(digits, &l.text[i])
		}
	}
	switch l.form {
	case obd.FormCAN11:
		l.cells, l.named = cellsOf(digits[3:]), l.frame.id >= lowestReply
	case obd.FormCAN29:
		l.cells, l.named = cellsOf(digits[8:]), true
	case obd.FormKLine, obd.FormJ1850:
		l.all, l.named = cellsOf(digits), true
		l.cells = l.all[3 : len(l.all)-1]
		if l.sum = KLineSum; l.form == obd.FormJ1850 {
			l.sum = J1850CRC
		}
	default:
		l.cells = cellsOf(digits)
	}
}

// check makes the check byte that of a line in which something was hidden: that of the number
// would tell something of it.
func (l *vinLine) check(was string) {
	if n := len(l.all); l.sum != nil && string(l.text) != was {
		bytes := make([]byte, n-1)
		for i, c := range l.all[:n-1] {
			bytes[i] = obd.HexValue(*c.high)<<4 | obd.HexValue(*c.low)
		}
		l.all[n-1].put(l.sum(bytes))
	}
}

func cellsOf(digits []*byte) []cell {
	cells := make([]cell, 0, len(digits)/2)
	for i := 0; i+1 < len(digits); i += 2 {
		cells = append(cells, cell{digits[i], digits[i+1], obd.HexValue(*digits[i])<<4 | obd.HexValue(*digits[i+1])})
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

// vinDigit is one character of a line, spaces left out.
type vinDigit struct {
	line  *vinLine
	at    int
	value byte
	hex   bool
}

// digits are the characters of a line as they stand there now.
func (l *vinLine) digits() (row []vinDigit) {
	for i, c := range l.text {
		switch {
		case isAnyHex(c):
			row = append(row, vinDigit{l, i, anyHex(c), true})
		case c != ' ' && c != '\r' && c != '\n':
			row = append(row, vinDigit{l, i, 0, false})
		}
	}
	return row
}

// hide puts a digit in place of one; a line that is not whole loses all of its digits, as nobody
// knows which are those of a number.
func (d vinDigit) hide(with byte) {
	if d.line.whole {
		d.line.text[d.at] = with
		return
	}
	for i := 0; i < len(d.line.text) && !d.line.gone; i++ {
		if isAnyHex(d.line.text[i]) {
			d.line.text[i] = vinMark
		}
	}
	d.line.gone = true
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
