package obd

import "strings"

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
	case 0x01, 0x02, 0x06, 0x09:
		return a.n == 1 || len(reply) >= 2 && a.has(reply[1])
	case 0x22:
		return len(reply) >= 3 && a.n >= 3 && reply[1] == a.bytes[1] && reply[2] == a.bytes[2]
	case 0x19:
		return len(reply) >= 2 && a.n >= 2 && reply[1] == a.bytes[1]
	}
	return true
}

// named tells whether raw text holds the first bytes of a reply: the service and, where
// the reply repeats it, one of the items.
func (a *ask) named(text string) bool {
	const digits = "0123456789ABCDEF"
	var b [5]byte
	s := a.service() + positive
	b[0], b[1] = digits[s>>4], digits[s&15]
	if a.n == 1 {
		return strings.Contains(text, string(b[:2]))
	}
	for _, item := range a.items() {
		b[2], b[3] = digits[item>>4], digits[item&15]
		if strings.Contains(text, string(b[:4])) {
			return true
		}
		b[2], b[3], b[4] = ' ', digits[item>>4], digits[item&15]
		if strings.Contains(text, string(b[:5])) {
			return true
		}
	}
	return false
}

const (
	positive = 0x40 // added to the service in a positive reply
	negative = 0x7F // first byte of a negative reply: 7F service code
)
