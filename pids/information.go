package pids

import (
	"bytes"
	"fmt"
	"strings"
)

// Vehicle information: service 09 of SAE J1979, and the identifiers that stand for it in
// SAE J1979-2 (F800 plus the info type).

const vinLength = 17

// informationData cuts service and item off a reply, and the count that CAN cars put in
// front; size is that of one item. The count may be missing behind service 22.
func informationData(what string, reply []byte, item byte, size int) ([]byte, error) {
	var data []byte
	switch {
	case len(reply) >= 2 && reply[0] == 0x49 && reply[1] == item:
		data = reply[2:]
	case len(reply) >= 3 && reply[0] == 0x62 && reply[1] == 0xF8 && reply[2] == item:
		data = reply[3:]
	default:
		return nil, &DataError{what, 0, ErrOther}
	}
	if len(data)%size == 1 {
		data = data[1:]
	}
	if len(data) < size {
		return nil, &DataError{what, len(reply), ErrShort}
	}
	return data, nil
}

// ParseVIN reads the vehicle identification number out of a reply: 49 02 with a count, 62 F8
// 02 with or without, or 62 F1 90 (ISO 14229-1). Zeros and blanks about it are padding. The
// error is a *DataError: ErrOther, ErrShort.
func ParseVIN(reply []byte) (string, error) {
	const what = "vehicle identification number"
	var data []byte
	if len(reply) >= 3 && reply[0] == 0x62 && reply[1] == 0xF1 && reply[2] == 0x90 {
		data = reply[3:]
	} else {
		var err error
		if data, err = informationData(what, reply, 0x02, 1); err != nil {
			return "", err
		}
		if len(data) > vinLength {
			data = data[len(data)-vinLength:]
		}
	}
	vin := string(bytes.Trim(data, "\x00 \xFF"))
	if len(vin) != vinLength {
		return "", &DataError{what, len(reply), ErrShort}
	}
	return ascii(vin), nil
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

// JoinLegacy puts the numbered lines of the older buses together (49 02 01 00 00 00 31, 49
// 02 02 …): service and item once, then the data in order of the numbers, which begin at 1.
// The error is a *DataError whose Offset is the line: ErrOther, ErrShort, ErrTwice.
func JoinLegacy(lines [][]byte) ([]byte, error) {
	const what = "numbered lines"
	parts := make([][]byte, len(lines))
	for i, l := range lines {
		switch {
		case len(l) < 4 || l[0] != lines[0][0] || l[1] != lines[0][1]:
			return nil, &DataError{what, i, ErrOther}
		case int(l[2]) < 1 || int(l[2]) > len(lines):
			return nil, &DataError{what, i, ErrShort}
		case parts[l[2]-1] != nil:
			return nil, &DataError{what, i, ErrTwice}
		}
		parts[l[2]-1] = l[3:]
	}
	if len(lines) == 0 {
		return nil, &DataError{what, 0, ErrShort}
	}
	out := []byte{lines[0][0], lines[0][1]}
	for _, p := range parts {
		out = append(out, p...)
	}
	return out, nil
}

const (
	calibrationSize = 16
	cvnSize         = 4
	nameSize        = 20
)

// ParseCalibrationIDs reads a reply to info type 04 (or F804): texts of 16 characters, zero
// padded.
func ParseCalibrationIDs(reply []byte) ([]string, error) {
	data, err := informationData("calibration ids", reply, 0x04, calibrationSize)
	if err != nil {
		return nil, err
	}
	var out []string
	for i := 0; i+calibrationSize <= len(data); i += calibrationSize {
		if text := text(data[i : i+calibrationSize]); text != "" {
			out = append(out, text)
		}
	}
	return out, nil
}

// text is a padded text, cleaned.
func text(b []byte) string { return ascii(strings.TrimSpace(string(bytes.Trim(b, "\x00\xFF")))) }

// ParseCVNs reads a reply to info type 06 (or F806): calibration verification numbers, four
// bytes each, as hex.
func ParseCVNs(reply []byte) ([]string, error) {
	data, err := informationData("calibration verification numbers", reply, 0x06, cvnSize)
	if err != nil {
		return nil, err
	}
	var out []string
	for i := 0; i+cvnSize <= len(data); i += cvnSize {
		out = append(out, fmt.Sprintf("%X", data[i:i+cvnSize]))
	}
	return out, nil
}

// ParseECUName reads a reply to info type 0A (or F80A): an acronym of four characters, a
// separator, and a text: "ECM-EngineControl".
func ParseECUName(reply []byte) (string, error) {
	data, err := informationData("name of the computer", reply, 0x0A, nameSize)
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

// ParseFreezeFrame reads a reply to service 02 (42 first): each parameter is followed by the
// number of its frame. asked are the parameters of the request; with one, its data is the
// rest. The error is a *DataError or a *ReplyError.
func ParseFreezeFrame(reply []byte, asked ...byte) ([]Part, error) {
	if len(reply) < 3 || reply[0] != 0x42 {
		return nil, &DataError{"freeze frame", 0, ErrOther}
	}
	// The frame's number stands behind each parameter; without it the reply is one of
	// service 01. Of several only the first can be found without their lengths.
	flat := append([]byte{reply[1]}, reply[3:]...)
	return Split(nil, flat, asked...)
}
