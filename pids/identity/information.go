// Package identity reads which vehicle and which ECU answers (service 09 of SAE J1979), and
// hides the part of a vehicle identification number that names one car.
package identity

import (
	"fmt"
	"strings"

	"github.com/judder-obd/judder/pids"
)

const vinLength = 17

// informationData returns the data of a reply to service 09, or to the identifier that replaces
// its info type in SAE J1979-2 (F800 plus the info type): service, item and count are cut off.
// size is the length of one item. Behind service 22 the count may be missing. Where the count
// promises more than came, the error is ErrShort, and the data that came are given.
func informationData(what string, reply []byte, item byte, size int) ([]byte, error) {
	data, at, err := informationBody(what, reply, item)
	if err != nil {
		return nil, err
	}
	switch counted := len(data)%size == 1; {
	case !counted && reply[0] == 0x49: // SAE J1979: a count is always there
		return nil, pids.NewDataError(what, len(reply), pids.ErrShort)
	case len(data) < size:
		return nil, pids.NewDataError(what, len(reply), pids.ErrShort)
	case counted && int(data[0])*size > len(data)-1:
		return data[1:], pids.NewDataError(what, len(reply), pids.ErrShort)
	case counted:
		return data[1:], nil
	case len(data)%size != 0:
		return nil, pids.NewDataError(what, at+len(data)/size*size, pids.ErrRecord)
	}
	return data, nil
}

// informationBody returns what follows service and item, and the byte at which it begins.
func informationBody(what string, reply []byte, item byte) (data []byte, at int, err error) {
	switch {
	case len(reply) >= 2 && reply[0] == 0x49 && reply[1] == item:
		return reply[2:], 2, nil
	case len(reply) >= 3 && reply[0] == 0x62 && reply[1] == 0xF8 && reply[2] == item:
		return reply[3:], 3, nil
	}
	return nil, 0, pids.NewDataError(what, 0, pids.ErrOther)
}

// informationTexts is informationData for texts. No text begins with a control byte: such a
// byte is a count, and the text after it lacks its last character.
func informationTexts(what string, reply []byte, item byte, size int) ([]byte, error) {
	data, err := informationData(what, reply, item, size)
	if len(data) > 0 && data[0] > 0 && data[0] < ' ' {
		return nil, pids.NewDataError(what, len(reply), pids.ErrShort)
	}
	return data, err
}

// ParseVIN reads the vehicle identification number out of a reply: 49 02 with a count, 62 F8
// 02 with or without one, or 62 F1 90 (ISO 14229-1). Control bytes, blanks and FF around the
// number are count and padding. Inside it they become question marks, which CheckVIN finds. The
// error is a *pids.DataError: ErrOther, ErrShort, ErrLong.
func ParseVIN(reply []byte) (string, error) {
	const what = "vehicle identification number"
	var data []byte
	if len(reply) >= 3 && reply[0] == 0x62 && reply[1] == 0xF1 && reply[2] == 0x90 {
		data = reply[3:]
	} else {
		var err error
		if data, _, err = informationBody(what, reply, 0x02); err != nil {
			return "", err
		}
	}
	vin := text(data)
	switch {
	case len(vin) < vinLength:
		return "", pids.NewDataError(what, len(reply), pids.ErrShort)
	case len(vin) > vinLength:
		return "", pids.NewDataError(what, len(reply)-(len(vin)-vinLength), pids.ErrLong)
	}
	return vin, nil
}

// ascii leaves printable ASCII; any other byte becomes a question mark.
func ascii(s string) string {
	out := []byte(s)
	for i, c := range out {
		if c < ' ' || c > '~' {
			out[i] = '?'
		}
	}
	return string(out)
}

// JoinLegacy puts the numbered lines of the older buses together, in any order (ELM327 data sheet p. 42):
//
//	49 02 01 00 00 00 31
//	49 02 02 44 34 47 50 …
//
// The result is that of a CAN car: service, item, a count, and the data in order of the line
// numbers, which begin at 1. The error is a *pids.DataError that names the line, in order of
// arrival from 1, and the byte in it: ErrOther, ErrTwice, or ErrShort for a missing number or a
// line without data.
func JoinLegacy(lines [][]byte) ([]byte, error) {
	if len(lines) == 0 {
		return nil, pids.NewDataError("numbered lines", 0, pids.ErrShort)
	}
	parts := make([][]byte, len(lines))
	for i, l := range lines {
		what := fmt.Sprintf("line %d of %d", i+1, len(lines))
		switch {
		case len(l) <= lineNumber+1:
			return nil, pids.NewDataError(what, len(l), pids.ErrShort)
		case l[0] != lines[0][0] || l[1] != lines[0][1]:
			return nil, pids.NewDataError(what, 0, pids.ErrOther)
		case l[lineNumber] < 1 || int(l[lineNumber]) > len(lines):
			return nil, pids.NewDataError(what, lineNumber, pids.ErrShort)
		case parts[l[lineNumber]-1] != nil:
			return nil, pids.NewDataError(what, lineNumber, pids.ErrTwice)
		}
		parts[l[lineNumber]-1] = l[lineNumber+1:]
	}
	out := []byte{lines[0][0], lines[0][1], 1}
	for _, p := range parts {
		out = append(out, p...)
	}
	if size := informationSizes[out[1]]; size > 0 {
		out[2] = byte((len(out) - 3) / size)
	}
	return out, nil
}

// lineNumber is the byte that numbers a line of the older buses.
const lineNumber = 2

const (
	calibrationSize = 16
	cvnSize         = 4
	nameSize        = 20
)

// informationSizes are the bytes of one piece of an info type that may come in several.
var informationSizes = map[byte]int{0x04: calibrationSize, 0x06: cvnSize}

// ParseCalibrationIDs reads a reply to info type 04 (or F804): texts of 16 characters, zero
// padded. The error is a *pids.DataError: ErrOther, ErrRecord, or ErrShort with those that are
// there.
func ParseCalibrationIDs(reply []byte) ([]string, error) {
	data, err := informationTexts("calibration ids", reply, 0x04, calibrationSize)
	var out []string
	for i := 0; i+calibrationSize <= len(data); i += calibrationSize {
		if text := text(data[i : i+calibrationSize]); text != "" {
			out = append(out, text)
		}
	}
	return out, err
}

// text is a text without its padding: control bytes, blanks and FF at both ends.
func text(b []byte) string {
	const blank, last = ' ', '~'
	for len(b) > 0 && (b[0] <= blank || b[0] > last) {
		b = b[1:]
	}
	for len(b) > 0 && (b[len(b)-1] <= blank || b[len(b)-1] > last) {
		b = b[:len(b)-1]
	}
	return ascii(string(b))
}

// ParseCVNs reads a reply to info type 06 (or F806): calibration verification numbers, four
// bytes each, as hex: "DEADBEEF". The error is a *pids.DataError: ErrOther, ErrRecord, or ErrShort
// with the whole ones.
func ParseCVNs(reply []byte) ([]string, error) {
	data, err := informationData("calibration verification numbers", reply, 0x06, cvnSize)
	var out []string
	for i := 0; i+cvnSize <= len(data); i += cvnSize {
		out = append(out, fmt.Sprintf("%X", data[i:i+cvnSize]))
	}
	return out, err
}

// ParseECUName reads a reply to info type 0A (or F80A): an acronym of four characters, a
// separator, and a text: "ECM-EngineControl". The error is a *pids.DataError: ErrOther, ErrRecord,
// ErrShort.
func ParseECUName(reply []byte) (string, error) {
	data, err := informationTexts("name of the control unit", reply, 0x0A, nameSize)
	if err != nil {
		return "", err
	}
	data = data[:nameSize]
	short, long := text(data[:4]), strings.TrimLeft(text(data[4:]), "-? ")
	short = strings.TrimRight(short, "?-")
	switch {
	case short == "":
		return long, nil
	case long == "":
		return short, nil
	}
	return short + "-" + long, nil
}
