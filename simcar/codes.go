package simcar

import (
	"fmt"
	"strconv"
	"strings"
)

// Code is a diagnostic trouble code as it goes over the bus (SAE J2012): two bits of
// system, two of the first digit, three hexadecimal digits.
type Code uint16

// codeSystems are the letters in the order of the two upper bits.
const codeSystems = "PCBU"

// ParseCode codes text such as "P0741".
func ParseCode(text string) (Code, error) {
	if len(text) != 5 || text[1] < '0' || text[1] > '3' {
		return 0, fmt.Errorf("simcar: trouble code %q: want a letter and four digits such as P0741", text)
	}
	system := strings.IndexByte(codeSystems, text[0])
	low, err := strconv.ParseUint(text[2:], 16, 16)
	if system < 0 || err != nil {
		return 0, fmt.Errorf("simcar: trouble code %q: want a letter of %s and four digits such as P0741", text, codeSystems)
	}
	return Code(system<<14 | int(text[1]-'0')<<12 | int(low)), nil
}

// Codes codes several texts. It panics on a text that is no trouble code: it is for
// tables in programs.
func Codes(texts ...string) []Code {
	codes := make([]Code, len(texts))
	for i, text := range texts {
		code, err := ParseCode(text)
		if err != nil {
			panic(err)
		}
		codes[i] = code
	}
	return codes
}

// String is the code as people write it.
func (c Code) String() string {
	return fmt.Sprintf("%c%X%03X", codeSystems[c>>14], uint16(c)>>12&3, uint16(c)&0xFFF)
}

// readCodes answers services $03, $07 and $0A. On CAN: count, then two bytes each
// (ISO 15031-5); elsewhere messages of exactly three, filled up with zeros.
func readCodes(list func(*ECU) []Code) service {
	return func(e *ECU, q *query) byte {
		codes := list(e)
		if q.can {
			q.add(q.request[0]+0x40, byte(len(codes)))
			for _, c := range codes[:min(len(codes), 0xFF)] {
				q.extend(byte(c>>8), byte(c))
			}
			return 0
		}
		switch {
		case q.request[0] == 0x0A: // not defined before CAN
			return serviceNotSupported
		case len(codes) == 0 && e.SilentWithoutCodes:
			return 0
		}
		for i := 0; i == 0 || i < len(codes); i += 3 {
			q.add(q.request[0] + 0x40)
			for j := i; j < i+3; j++ {
				var c Code
				if j < len(codes) {
					c = codes[j]
				}
				q.extend(byte(c>>8), byte(c))
			}
		}
		return 0
	}
}
