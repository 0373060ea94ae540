package reply

import (
	"slices"
	"strings"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
)

// Request is what a request asks of the car: its bytes, without the count digit.
type Request struct {
	bytes [obd.MaxRequestBytes]byte
	n     int // 0: not a request to the car
}

// ParseRequest reads a request as it is written to the adapter ("010C0D1").
func ParseRequest(text string) (r Request) {
	n := len(text) / 2
	if strings.HasPrefix(text, "AT") || n > obd.MaxRequestBytes {
		return Request{}
	}
	for i := range n {
		hi, lo := text[2*i], text[2*i+1]
		if !obd.IsHex(hi) || !obd.IsHex(lo) {
			return Request{}
		}
		r.bytes[i] = obd.HexValue(hi)<<4 | obd.HexValue(lo)
	}
	r.n = n
	return r
}

// ToCar reports whether it is a request to the car: any other is a command of the adapter, or
// nothing. The other methods are for requests to the car alone.
func (r *Request) ToCar() bool { return r.n > 0 }

// Service is the first byte.
func (r *Request) Service() byte { return r.bytes[0] }

// Items are the bytes after the service: PIDs, an identifier, a test id.
func (r *Request) Items() []byte { return r.bytes[1:max(r.n, 1)] }

// Has reports whether an item is among those asked for.
func (r *Request) Has(item byte) bool { return slices.Contains(r.Items(), item) }

const (
	positive = 0x40 // added to the service in a positive reply
	negative = 0x7F // first byte of a negative reply: 7F service code
)

// AnsweredBy reports whether a reply, service byte first, answers this request.
func (r *Request) AnsweredBy(reply []byte) bool {
	if r.n == 0 || len(reply) == 0 {
		return false
	}
	if reply[0] == negative {
		return len(reply) >= 2 && reply[1] == r.Service()
	}
	if reply[0] != r.Service()+positive {
		return false
	}
	switch r.Service() {
	case 0x01:
		return r.holds(reply[1:])
	case 0x02: // PID and number of the freeze frame
		return r.repeatedBy(reply, 2)
	case 0x06, 0x09:
		return r.n == 1 || len(reply) >= 2 && r.Has(reply[1])
	case 0x22: // an identifier
		return r.n >= 3 && len(reply) >= 3 && r.repeatedBy(reply, 2)
	case 0x19: // a report; 04 and 06 begin with the trouble code asked about (ISO 14229-1)
		if r.n >= 5 && (r.bytes[1] == 0x04 || r.bytes[1] == 0x06) {
			return len(reply) >= 5 && r.repeatedBy(reply, 4)
		}
		return r.n >= 2 && r.repeatedBy(reply, 1)
	}
	return true
}

// repeatedBy reports whether a reply begins with the items of the request, so many at most.
func (r *Request) repeatedBy(reply []byte, most int) bool {
	n := 1 + min(most, len(r.Items()))
	return len(reply) >= n && string(reply[1:n]) == string(r.bytes[1:n])
}

// holds reports whether all that a reply of service 01 claims to hold was asked, each at its
// length. Every request of a drive begins with engine speed, so the first item shows nothing.
func (r *Request) holds(reply []byte) bool {
	var room [obd.MaxRequestBytes]pids.Part
	_, err := pids.Split(room[:0], reply, r.Items()...)
	return err == nil
}
