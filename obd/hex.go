package obd

import "fmt"

// IsHex reports whether a character is an upper-case hex digit. The adapter family writes no small
// ones: a small one in a reply is what a single wrong bit makes, and counts as damage.
func IsHex(c byte) bool { return c >= '0' && c <= '9' || c >= 'A' && c <= 'F' }

// AllHex reports whether a text is nothing but upper-case hex digits.
func AllHex(text string) bool {
	for i := range len(text) {
		if !IsHex(text[i]) {
			return false
		}
	}
	return true
}

// HexValue is the value of an upper-case hex digit.
func HexValue(c byte) byte {
	if c <= '9' {
		return c - '0'
	}
	return c - 'A' + 10
}

// Hex is bytes as upper-case hex text, without spaces.
func Hex(b ...byte) string {
	const digits = "0123456789ABCDEF"
	out := make([]byte, 0, 2*MaxRequestBytes)
	for _, c := range b {
		out = append(out, digits[c>>4], digits[c&15])
	}
	return string(out)
}

// Request writes a request: service, then its bytes.
func Request(service byte, b ...byte) string {
	return Hex(append([]byte{service}, b...)...)
}

// Identifier is the request of service 22 for an identifier (ISO 14229-1).
func Identifier(id uint16) string { return fmt.Sprintf("22%04X", id) }

// MaxRequestBytes is what the adapter takes in one request by default (ELM327 data sheet,
// p. 30), and what fits one CAN frame.
const MaxRequestBytes = 7

// EngineSpeed is the PID of engine speed (SAE J1979).
const EngineSpeed = 0x0C
