// Package dtc reads trouble codes: the code, its meaning, its status, and what an ECU kept
// with it (SAE J1979 services 03, 07 and 0A, ISO 14229-1 service 19).
package dtc

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/judder-obd/judder/pids"
)

// Code is a trouble code: two bytes (SAE J2012), or three with the failure type byte
// (ISO 14229-1 with SAE J2012-DA).
type Code struct {
	Number      uint16
	FailureType byte
	Three       bool
}

// String is the code as the trade writes it: "P0741", "U0140-87".
func (c Code) String() string {
	text := fmt.Sprintf("%c%d%03X", "PCBU"[c.Number>>14], c.Number>>12&3, c.Number&0xFFF)
	if c.Three {
		text += fmt.Sprintf("-%02X", c.FailureType)
	}
	return text
}

// Errors of a text.
var (
	ErrCode  = errors.New("not a trouble code; one reads P0741 or U0140-87")
	ErrState = errors.New("not the state of a trouble code")
)

// ParseCode reads a code as String writes it, in either case.
func ParseCode(text string) (Code, error) {
	s := strings.ToUpper(strings.TrimSpace(text))
	var c Code
	if base, kind, three := strings.Cut(s, "-"); three {
		n, err := strconv.ParseUint(kind, 16, 8)
		if err != nil || len(kind) != 2 {
			return Code{}, fmt.Errorf("%q: %w", text, ErrCode)
		}
		s, c.FailureType, c.Three = base, byte(n), true
	}
	if len(s) != 5 {
		return Code{}, fmt.Errorf("%q: %w", text, ErrCode)
	}
	letter := strings.IndexByte("PCBU", s[0])
	n, err := strconv.ParseUint(s[1:], 16, 16)
	if letter < 0 || err != nil || n > 0x3FFF {
		return Code{}, fmt.Errorf("%q: %w", text, ErrCode)
	}
	c.Number = uint16(letter)<<14 | uint16(n)
	return c, nil
}

// Maker reports whether makers define the meaning of the code (SAE J2012: P1, P30 to P33, and
// 1 and 2 of the other letters).
func (c Code) Maker() bool {
	first := c.Number >> 12 & 3
	if c.Number>>14 != 0 {
		return first == 1 || first == 2
	}
	return first == 1 || first == 3 && c.Number>>8&0xF < 4
}

// Text is what the code means, and where that is from. It is "" for a code without a source
// and for a maker's own: nothing is guessed. A failure type follows after a semicolon.
func (c Code) Text() (text, source string) {
	row, ok := codeText(c.Number)
	if !ok {
		return "", ""
	}
	if c.Three && c.FailureType != 0 {
		if kind := failureTypes[c.FailureType]; kind.text != "" {
			return row.text + "; " + kind.text, row.source + "; failure type: " + kind.source
		}
		return fmt.Sprintf("%s; failure type %02X", row.text, c.FailureType), row.source
	}
	return row.text, row.source
}

// legacyCodes is how many bytes of codes a message of the older buses has: three codes.
const legacyCodes = 6

// ParseCodes reads a reply to service 03, 07 or 0A, service byte (43, 47, 4A) first
// (SAE J1979):
//
//	CAN          43 count code code …
//	older buses  43 code code code    one message, zero padded; several are given one by one
//
// Zeros are padding. The error is a *pids.DataError: ErrOther, ErrShort, ErrRecord, ErrLong.
// ErrShort is a list that was cut: the count is larger than what came, and the whole codes are
// given. ErrRecord and ErrLong are a reply without a count on CAN, or with one on an older bus:
// its codes would be wrong, so none is given.
func ParseCodes(reply []byte, can bool) ([]Code, error) {
	const what = "trouble codes"
	if len(reply) == 0 || reply[0] != 0x43 && reply[0] != 0x47 && reply[0] != 0x4A {
		return nil, pids.NewDataError(what, 0, pids.ErrOther)
	}
	if can {
		if len(reply) < 2 {
			return nil, pids.NewDataError(what, len(reply), pids.ErrShort)
		}
		data, want := reply[2:], 2*int(reply[1])
		if want == 0 && len(data) > 0 && filling(data) {
			return nil, nil // none; the ECU counts its padding as part of the message
		}
		switch {
		case len(data) > want, len(data)%2 != 0: // ISO 15765-2 has cut the padding: this has no count
			return nil, pids.NewDataError(what, min(len(reply), 2+want), pids.ErrRecord)
		case len(data) < want:
			return codePairs(unfilled(data)), pids.NewDataError(what, len(reply), pids.ErrShort)
		}
		return codePairs(data), nil
	}
	data := reply[1:]
	switch {
	case len(data)%2 != 0:
		return nil, pids.NewDataError(what, len(reply)-1, pids.ErrRecord)
	case len(data) > legacyCodes:
		return nil, pids.NewDataError(what, 1+legacyCodes, pids.ErrLong)
	case len(data) < legacyCodes:
		return codePairs(data), pids.NewDataError(what, len(reply), pids.ErrShort)
	}
	return codePairs(data), nil
}

// unfilled cuts off the bytes that fill up CAN frames at the end of a list (ISO 15765-2 leaves
// the choice of byte; these are common practice, no source).
func unfilled(data []byte) []byte {
	for len(data) >= 2 {
		last := data[len(data)-2:]
		if last[0] != last[1] || bytes.IndexByte([]byte{0x00, 0x55, 0xAA, 0xCC, 0xFF}, last[0]) < 0 {
			break
		}
		data = data[:len(data)-2]
	}
	return data
}

// filling reports whether all bytes are one filling byte.
func filling(data []byte) bool {
	return bytes.IndexByte([]byte{0x00, 0x55, 0xAA, 0xCC, 0xFF}, data[0]) >= 0 && bytes.Count(data, data[:1]) == len(data)
}

// codePairs reads codes of two bytes; it skips zeros and a last odd byte.
func codePairs(data []byte) []Code {
	var out []Code
	for ; len(data) >= 2; data = data[2:] {
		if n := uint16(data[0])<<8 | uint16(data[1]); n != 0 {
			out = append(out, Code{Number: n})
		}
	}
	return out
}
