package obd

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/judder-obd/judder/prose"
)

// Module is an ECU by its addresses, as reply headers show them: "760" and "768" on 11
// bits, "18DA28F1" and "18DAF128" on 29.
type Module struct {
	Name           string
	Request, Reply string
}

// ParseModule reads an address as a user gives it: three hex digits on 11-bit CAN (the reply
// id is 8 more), two on 29-bit CAN (ISO 15765-4: 18DAxxF1 and back), or all eight.
func ParseModule(text string) (Module, error) {
	s := strings.ToUpper(strings.TrimSpace(text))
	for i := range len(s) {
		if !IsHex(s[i]) {
			return Module{}, fmt.Errorf("module %q: an address has hex digits only, such as 760 or 28", prose.Clean(text))
		}
	}
	switch len(s) {
	case 2:
		s = "18DA" + s + "F1"
	case 3:
		if s > "7F7" || s < "600" {
			return Module{}, fmt.Errorf("module %s: below 600 lie the car's own messages, above 7F7 there is no reply; nothing is asked there", s)
		}
	case 8:
		if !strings.HasPrefix(s, "18DA") || !strings.HasSuffix(s, "F1") {
			return Module{}, fmt.Errorf("module %s: a 29-bit request address reads 18DAxxF1", s)
		}
	default:
		return Module{}, fmt.Errorf("module %q: give three hex digits (11-bit CAN, such as 760) or two (29-bit CAN, such as 28)", prose.Clean(text))
	}
	return Module{Name: s, Request: s, Reply: ReplyAddress(s)}, nil
}

// Legislated reports whether the adapter handles flow control for this module by itself: the
// eight pairs of ISO 15765-4, and 29-bit addresses, where sender and receiver change places.
func (m *Module) Legislated() bool {
	return len(m.Request) == 8 || m.Request >= "7E0" && m.Request <= "7E7" && m.Reply == ReplyAddress(m.Request)
}

// On reports whether the module can be on a bus with these headers.
func (m *Module) On(form Form) bool {
	return form == FormCAN11 && len(m.Request) == 3 || form == FormCAN29 && len(m.Request) == 8
}

// ReplyAddress is the header of the replies to requests at an address.
func ReplyAddress(request string) string { return across(request, 8) }

// RequestAddress is the address at which the ECU of a reply header is asked.
func RequestAddress(reply string) string { return across(reply, -8) }

// across is the other address of a pair: by more on 11 bits (ISO 15765-4: 7E0 to 7E7, replies
// 8 higher), sender and receiver changed round on 29; "" for text that is no address.
func across(address string, by int) string {
	address = strings.ToUpper(address)
	if len(address) == 8 {
		return address[:4] + address[6:8] + address[4:6]
	}
	n, err := strconv.ParseUint(address, 16, 16)
	if err != nil || int(n)+by < 0 {
		return ""
	}
	return fmt.Sprintf("%03X", int(n)+by)
}

// HeaderOf is what AT SH takes: three digits, or the last six of eight (the first two are
// the priority, which stays at its default).
func HeaderOf(address string) string { return strings.ToUpper(address[max(0, len(address)-6):]) }

// Everybody is the header of requests to all ECUs (ISO 15765-4).
func Everybody(form Form) string {
	if form == FormCAN29 {
		return "DB33F1"
	}
	return "7DF"
}
