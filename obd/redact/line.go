package redact

import (
	"bytes"
	"slices"
	"strings"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
)

// checks are how the check byte of a line is made, in the forms that have one.
var checks = map[obd.Form]func([]byte) byte{obd.FormKLine: reply.KLineSum, obd.FormJ1850: reply.J1850CRC}

// cells are the bytes of a line: where in its text their two digits are.
type cells struct {
	text []byte
	at   [][2]int
}

func cellsOf(text string) *cells {
	c, half := &cells{text: []byte(text)}, -1
	for i := range c.text {
		switch {
		case !obd.IsHex(text[i]):
		case half < 0:
			half = i
		default:
			c.at = append(c.at, [2]int{half, i})
			half = -1
		}
	}
	return c
}

func (c *cells) get(i int) byte {
	return obd.HexValue(c.text[c.at[i][0]])<<4 | obd.HexValue(c.text[c.at[i][1]])
}

func (c *cells) put(i int, value byte) {
	digits := obd.Hex(value)
	c.text[c.at[i][0]], c.text[c.at[i][1]] = digits[0], digits[1]
}

// show is a line with a part of a reply, hidden instead of was. In front of the part is its
// header; after it is its check byte, or padding: some ECUs pad with what they sent before.
func show(head, tail string, was, hidden []byte, check func([]byte) byte) string {
	c := cellsOf(tail)
	for i := range hidden {
		if hidden[i] != was[i] {
			c.put(i, hidden[i])
		}
	}
	if check != nil && !bytes.Equal(was, hidden) { // the old one shows something of the number
		header := cellsOf(head[strings.LastIndexFunc(head, notHex)+1:]) // after a status text
		var frame []byte
		for i := range header.at {
			frame = append(frame, header.get(i))
		}
		c.put(len(hidden), check(append(frame, hidden...)))
	}
	for i := len(hidden); check == nil && len(hidden) > 0 && i < len(c.at); i++ {
		if !reply.IsPadding(c.get(i)) {
			c.put(i, mark)
		}
	}
	return head + string(c.text)
}

// blank is a line that no reply accounts for: what the adapter itself says stays.
func blank(request, text string) string {
	trimmed := strings.TrimSpace(text)
	q := reply.ParseRequest(request)
	st, _ := reply.StatusOf(trimmed)
	own := request != "" && !q.ToCar() || st != nil && st.Action == reply.ActSetUp // its answer, or its name
	if trimmed == request || own && harmless(text) {
		return text
	}
	line, from, to := []byte(text), 0, 0
	if st != nil {
		from = strings.Index(text, st.Text)
		to = from + len(st.Text)
	}
	for i, c := range line {
		if (i < from || i >= to) && strings.IndexByte(characters+"abcdefghijklmnopqrstuvwxyz", c) >= 0 {
			line[i] = mark
		}
	}
	return string(line)
}

// harmless reports whether a text has no room for three characters of a number in hex.
func harmless(text string) bool {
	const piece = 6
	rows := strings.FieldsFunc(strings.ToUpper(strings.ReplaceAll(text, " ", "")), notHex)
	return !slices.ContainsFunc(rows, func(row string) bool { return len(row) >= piece })
}

func notHex(r rune) bool { return r != ' ' && (r > 'F' || !obd.IsHex(byte(r))) }
