package reply

import (
	"strings"

	"judder/obd"
	"judder/pids"
)

// ask is what a request asks of the car: its bytes, without the count digit.
type ask struct {
	bytes [obd.MaxRequestBytes]byte
	N     int // 0: not a request to the car
}

// ParseQuestion reads a request as it is written to the adapter ("010C0D1").
func ParseQuestion(request string) (a ask) {
	n := len(request) / 2
	if strings.HasPrefix(request, "AT") || n > obd.MaxRequestBytes {
		return ask{}
	}
	for i := range n {
		hi, lo := request[2*i], request[2*i+1]
		if !obd.IsHex(hi) || !obd.IsHex(lo) {
			return ask{}
		}
		a.bytes[i] = obd.HexValue(hi)<<4 | obd.HexValue(lo)
	}
	a.N = n
	return a
}

// ToCar reports whether it is a request to the car; any other is a command of the adapter.
func (a *ask) ToCar() bool { return a.N > 0 }

func (a *ask) Service() byte { return a.bytes[0] }

// Items are the bytes behind the service: PIDs, an identifier, a test id.
func (a *ask) Items() []byte { return a.bytes[1:a.N] }

// Has tells whether an item is among those asked for.
func (a *ask) Has(pid byte) bool {
	for _, p := range a.Items() {
		if p == pid {
			return true
		}
	}
	return false
}

// AnsweredBy tells whether a reply, service byte first, answers this request.
func (a *ask) AnsweredBy(reply []byte) bool {
	if a.N == 0 || len(reply) == 0 {
		return false
	}
	if reply[0] == negative {
		return len(reply) >= 2 && reply[1] == a.Service()
	}
	if reply[0] != a.Service()+positive {
		return false
	}
	switch a.Service() {
	case 0x01:
		return a.N > 1 && a.holds(reply[1:])
	case 0x02: // PID and number of the freeze frame
		return a.N < 2 || len(reply) >= 2 && reply[1] == a.bytes[1] && (a.N < 3 || len(reply) >= 3 && reply[2] == a.bytes[2])
	case 0x06, 0x09:
		return a.N == 1 || len(reply) >= 2 && a.Has(reply[1])
	case 0x22:
		return len(reply) >= 3 && a.N >= 3 && reply[1] == a.bytes[1] && reply[2] == a.bytes[2]
	case 0x19:
		return len(reply) >= 2 && a.N >= 2 && reply[1] == a.bytes[1] && a.ofCode(reply)
	}
	return true
}

// ofCode tells whether a reply with the details of a trouble code is of the one asked about
// (ISO 14229-1: reports 04 and 06 tell the code's three bytes first, as the request does).
func (a *ask) ofCode(reply []byte) bool {
	if a.bytes[1] != 0x04 && a.bytes[1] != 0x06 || a.N < 5 {
		return true
	}
	return len(reply) >= 5 && string(reply[2:5]) == string(a.bytes[2:5])
}

// holds tells whether all that a reply of service 01 claims to hold was asked, each at its
// length. Every request of a drive begins with engine speed: the first item tells nothing.
func (a *ask) holds(reply []byte) bool {
	var room [obd.MaxRequestBytes]pids.Part
	_, err := pids.Split(room[:0], reply, a.Items()...)
	return err == nil
}

// NamedIn tells whether raw text can hold a reply to this request. For service 01 all that
// follows counts: a late reply to another request begins with engine speed as well.
func (a *ask) NamedIn(text string) bool {
	text = strings.ReplaceAll(text, " ", "")
	service := obd.Hex(a.Service() + positive)
	if a.N == 1 {
		return strings.Contains(text, service)
	}
	items, wide := a.Items(), 1
	switch a.Service() {
	case 0x22: // identifiers of two bytes
		wide = 2
	case 0x19: // what follows the report is no part of its reply's beginning
		items = items[:1]
	}
	for ; len(items) >= wide; items = items[wide:] {
		at := strings.Index(text, service+obd.Hex(items[:wide]...))
		if at >= 0 && (a.Service() != 0x01 || a.walks(unpadded(text, at)) || a.walks(text[at+2:])) {
			return true
		}
	}
	return false
}

// unpadded is what stands behind the service byte at a place of a line, cut at the length that
// the byte in front of it tells on CAN (ISO 15765-2); what ECUs pad with is their choice.
func unpadded(text string, at int) string {
	if at < 2 || text[at-2] != '0' || text[at-1] < '1' || text[at-1] > '7' {
		return text[at+2:]
	}
	return text[at+2 : min(at+2*int(text[at-1]-'0'), len(text))]
}

// walks goes through hex digits, PID by PID, as far as they are asked and whole. What is
// left must be nothing, padding, a check byte, or the reply's next frame.
func (a *ask) walks(digits string) bool {
	for len(digits) >= 2 {
		if !obd.IsHex(digits[0]) || !obd.IsHex(digits[1]) {
			return false
		}
		pid := obd.HexValue(digits[0])<<4 | obd.HexValue(digits[1])
		if !a.Has(pid) {
			rest := len(digits) / 2
			return rest == 1 || pid == 0x00 || pid == 0x55 || pid == 0xAA || pid == 0xCC || pid == 0xFF
		}
		digits = digits[min(len(digits), 2+2*max(pids.Lookup(pid).MaxLen, 1)):]
	}
	return true
}

const (
	positive = 0x40 // added to the service in a positive reply
	negative = 0x7F // first byte of a negative reply: 7F service code
)
