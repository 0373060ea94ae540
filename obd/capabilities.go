package obd

import (
	"fmt"
	"strings"
	"time"
)

// Capabilities are what this adapter and this car have been seen to do; nothing in it is
// taken from a version text.
type Capabilities struct {
	Adapter  string // what the adapter calls itself, for the record only
	Protocol string // the adapter's protocol number as it reported it ("6", "A6"); "" when it did not
	Form     Form
	Bundle   bool // several PIDs in one request are answered in one reply
	Count    bool // the count digit ends the wait and changes nothing else
	Slow     bool // an older bus: tens of milliseconds an exchange at least

	Successor bool   // the car follows SAE J1979-2: parameters by service 22
	Focus     string // the ECU that is asked alone; "" when all are
	Baud      int    // serial speed in use; 0 on a network

	Timeout time.Duration // the adapter's wait for replies as set for this car; 0: its own
}

// String lists what is used, in words; kept with the recording.
func (c Capabilities) String() string {
	var words []string
	say := func(when bool, format string, args ...any) {
		if when {
			words = append(words, fmt.Sprintf(format, args...))
		}
	}
	say(c.Bundle, "several parameters a request")
	say(c.Count, "reply count digit")
	say(c.Focus != "", "%s asked alone", c.Focus)
	say(c.Timeout > 0, "replies waited for %d ms", c.Timeout.Milliseconds())
	say(c.Baud > 0, "%d baud", c.Baud)
	say(c.Slow, "an older bus")
	say(c.Successor, "SAE J1979-2")
	say(c.Form == FormBare, "no headers")
	return strings.Join(words, ", ")
}

// SuccessorPage is the upper byte of the identifiers that stand for PIDs.
const SuccessorPage = 0xF4

// Parameters asks for parameters of SAE J1979 in the car's own way: 01 with the PIDs, or 22
// with an identifier each.
func (c Capabilities) Parameters(pid ...byte) string {
	if !c.Successor {
		return Request(0x01, pid...)
	}
	b := []byte{0x22}
	for _, p := range pid {
		b = append(b, SuccessorPage, p)
	}
	return Hex(b...)
}

// Information asks for vehicle information in the car's own way: service 09 with the info
// type, or service 22 with identifier F800 plus the info type.
func (c Capabilities) Information(item byte) string {
	if c.Successor {
		return Identifier(informationPage | uint16(item))
	}
	return Request(0x09, item)
}

// informationPage is the identifier of info type 00; the info types are SAE J1979's.
const informationPage = 0xF800

// Info types of SAE J1979's service 09.
const (
	InfoVIN         = 0x02
	InfoCalibration = 0x04
)

// ProtocolNumber is the adapter's protocol number without the letter that says that it was
// found by a search.
func ProtocolNumber(reported string) string { return strings.TrimPrefix(reported, "A") }

// ProtocolName is the name of the adapter's protocol number (ELM327 data sheet, AT SP).
func ProtocolName(number string) string {
	names := map[string]string{
		"1": "SAE J1850 PWM", "2": "SAE J1850 VPW", "3": "ISO 9141-2",
		"4": "ISO 14230-4 (5-baud start)", "5": "ISO 14230-4 (fast start)",
		"6": "ISO 15765-4 (CAN 11/500)", "7": "ISO 15765-4 (CAN 29/500)",
		"8": "ISO 15765-4 (CAN 11/250)", "9": "ISO 15765-4 (CAN 29/250)",
	}
	return names[ProtocolNumber(number)]
}
