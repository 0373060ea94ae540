package obd

import (
	"strings"

	"judder/pids"
)

// ask is what a request asks of the car: its bytes, without the count digit.
type ask struct {
	bytes [maxRequestBytes]byte
	n     int // 0: not a request to the car
}

// parseAsk reads a request as it is written to the adapter ("010C0D1").
func parseAsk(request string) (a ask) {
	n := len(request) / 2
	if strings.HasPrefix(request, "AT") || n > maxRequestBytes {
		return ask{}
	}
	for i := range n {
		hi, lo := request[2*i], request[2*i+1]
		if !isHexDigit(hi) || !isHexDigit(lo) {
			return ask{}
		}
		a.bytes[i] = unhex(hi)<<4 | unhex(lo)
	}
	a.n = n
	return a
}

func (a *ask) service() byte { return a.bytes[0] }

// items are the bytes behind the service: PIDs, an identifier, a test id.
func (a *ask) items() []byte { return a.bytes[1:a.n] }

// has tells whether an item is among those asked for.
func (a *ask) has(pid byte) bool {
	for _, p := range a.items() {
		if p == pid {
			return true
		}
	}
	return false
}

// answeredBy tells whether a reply, service byte first, answers this request.
func (a *ask) answeredBy(reply []byte) bool {
	if a.n == 0 || len(reply) == 0 {
		return false
	}
	if reply[0] == negative {
		return len(reply) >= 2 && reply[1] == a.service()
	}
	if reply[0] != a.service()+positive {
		return false
	}
	switch a.service() {
	case 0x01:
		return a.n > 1 && a.holds(reply[1:])
	case 0x02: // PID and number of the freeze frame
		return a.n < 2 || len(reply) >= 2 && reply[1] == a.bytes[1] && (a.n < 3 || len(reply) >= 3 && reply[2] == a.bytes[2])
	case 0x06, 0x09:
		return a.n == 1 || len(reply) >= 2 && a.has(reply[1])
	case 0x22:
		return len(reply) >= 3 && a.n >= 3 && reply[1] == a.bytes[1] && reply[2] == a.bytes[2]
	case 0x19:
		return len(reply) >= 2 && a.n >= 2 && reply[1] == a.bytes[1] && a.ofCode(reply)
	}
	return true
}

// ofCode tells whether a reply with the details of a trouble code is of the one asked about
// (ISO 14229-1: reports 04 and 06 tell the code's three bytes first, as the request does).
func (a *ask) ofCode(reply []byte) bool {
	if a.bytes[1] != 0x04 && a.bytes[1] != 0x06 || a.n < 5 {
		return true
	}
	return len(reply) >= 5 && string(reply[2:5]) == string(a.bytes[2:5])
}

// holds tells whether all that a reply of service 01 claims to hold was asked, each at its
// length. Every request of a drive begins with engine speed: the first item tells nothing.
func (a *ask) holds(reply []byte) bool {
	var room [maxRequestBytes]pids.Part
	_, err := pids.Split(room[:0], reply, a.items()...)
	return err == nil
}

// named tells whether raw text can hold a reply to this request. For service 01 all that
// follows counts: a late reply to another request begins with engine speed as well.
func (a *ask) named(text string) bool {
	text = strings.ReplaceAll(text, " ", "")
	service := hexRequest(a.service() + positive)
	if a.n == 1 {
		return strings.Contains(text, service)
	}
	items, wide := a.items(), 1
	switch a.service() {
	case 0x22: // identifiers of two bytes
		wide = 2
	case 0x19: // what follows the report is no part of its reply's beginning
		items = items[:1]
	}
	for ; len(items) >= wide; items = items[wide:] {
		at := strings.Index(text, service+hexRequest(items[:wide]...))
		if at >= 0 && (a.service() != 0x01 || a.walks(unpadded(text, at)) || a.walks(text[at+2:])) {
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
		if !isHexDigit(digits[0]) || !isHexDigit(digits[1]) {
			return false
		}
		pid := unhex(digits[0])<<4 | unhex(digits[1])
		if !a.has(pid) {
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
