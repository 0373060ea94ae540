package reply

import (
	"strings"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
)

// NamedIn reports whether raw text can hold a reply to this request. For service 01 all that
// follows counts: a late reply to another request begins with engine speed as well.
func (r *Request) NamedIn(text string) bool {
	text = strings.ReplaceAll(text, " ", "")
	service := obd.Hex(r.Service() + positive)
	if r.n == 1 {
		return strings.Contains(text, service)
	}
	items, wide := r.Items(), 1
	switch r.Service() {
	case 0x22: // identifiers of two bytes
		wide = 2
	case 0x19: // what follows the report is no part of its reply's beginning
		items = items[:1]
	}
	for ; len(items) >= wide; items = items[wide:] {
		at := strings.Index(text, service+obd.Hex(items[:wide]...))
		if at >= 0 && (r.Service() != 0x01 || r.walks(unpadded(text, at)) || r.walks(text[at+2:])) {
			return true
		}
	}
	return false
}

// unpadded is what is after the service byte at a place of a line, cut at the length that
// the byte in front of it gives on CAN (ISO 15765-2): ECUs pad with what they like.
func unpadded(text string, at int) string {
	if at < 2 || text[at-2] != '0' || text[at-1] < '1' || text[at-1] > '7' {
		return text[at+2:]
	}
	return text[at+2 : min(at+2*int(text[at-1]-'0'), len(text))]
}

// walks goes through hex digits, PID by PID, as far as they are asked and whole. What is
// left must be nothing, padding, a check byte, or the reply's next frame.
func (r *Request) walks(digits string) bool {
	for len(digits) >= 2 {
		if !obd.IsHex(digits[0]) || !obd.IsHex(digits[1]) {
			return false
		}
		pid := obd.HexValue(digits[0])<<4 | obd.HexValue(digits[1])
		if !r.Has(pid) {
			rest := len(digits) / 2
			return rest == 1 || IsPadding(pid)
		}
		digits = digits[min(len(digits), 2+2*max(pids.Lookup(pid).MaxLen, 1)):]
	}
	return true
}
