package dtc

import (
	"errors"

	"github.com/judder-obd/judder/pids"
)

// StatusCode is a trouble code with its status (ISO 14229-1 service 19), and its severity
// where that was asked.
type StatusCode struct {
	Code
	Status
	Severity byte
}

// statusLayouts are the replies of service 19 that list codes: the byte at which records
// begin, the length of a record, the place of the code in it, and the bytes of the availability
// mask and of the format of the codes. In 42 the severity comes first (ISO 14229-1 as
// python-udsoncan and iso14229 read it). Records of 55 have no severity; python-udsoncan reads
// five bytes there.
var statusLayouts = map[byte]struct{ begin, size, code, mask, format int }{
	0x02: {3, 4, 0, 2, 0}, 0x0A: {3, 4, 0, 2, 0}, 0x15: {3, 4, 0, 2, 0},
	0x42: {6, 5, 1, 3, 5}, 0x55: {5, 4, 0, 3, 4},
}

// Formats of three-byte codes that SAE J2012 does not write (ISO 14229-1).
const (
	formatJ1939 = 0x02
	format11992 = 0x03
)

// WritesJ2012 reports whether codes of a format (ISO 14229-1) can be written as SAE J2012 does.
func WritesJ2012(format byte) bool { return format != formatJ1939 && format != format11992 }

// FormatOf is the format of the codes in a reply to service 19 42 or 55; ok is false for
// replies without one.
func FormatOf(reply []byte) (format byte, ok bool) {
	if len(reply) < 2 {
		return 0, false
	}
	at := statusLayouts[reply[1]].format
	if at == 0 || at >= len(reply) {
		return 0, false
	}
	return reply[at], true
}

// ErrFormat is a list of codes that SAE J2012 does not write. They are shown raw.
var ErrFormat = errors.New("codes in a format other than that of SAE J2012, not to be read as such")

// ParseStatusCodes reads a reply to service 19, sub-functions 02, 0A, 15, 42 and 55, service
// byte first (ISO 14229-1):
//
//	59 02 available {code code code status}…                             also 0A, 15
//	59 42 group available severities format {severity code code code status}…
//	59 55 group available format {code code code status}…
//
// available is the ECU's availability mask: a bit that is 0 in it means nothing, and is 0 in
// every Status. With a mask of 00 no bit means anything; codes are listed, and their bits are
// as they came. Records of zeros are padding. Of 02, 0A and 15 only ParseCount knows the format.
// The error is a *pids.DataError: ErrOther, ErrShort, ErrFormat, ErrRecord. With ErrRecord the
// whole codes before it are given; of 42 and 55 none is, because there the layout itself may
// be wrong.
func ParseStatusCodes(reply []byte) (codes []StatusCode, available byte, err error) {
	const what = "codes with status"
	if len(reply) < 2 || reply[0] != 0x59 {
		return nil, 0, pids.NewDataError(what, 0, pids.ErrOther)
	}
	l, ok := statusLayouts[reply[1]]
	switch {
	case !ok:
		return nil, 0, pids.NewDataError(what, 1, pids.ErrOther)
	case len(reply) < l.begin:
		return nil, 0, pids.NewDataError(what, len(reply), pids.ErrShort)
	}
	available = reply[l.mask]
	if l.format > 0 && !WritesJ2012(reply[l.format]) {
		return nil, available, pids.NewDataError(what, l.format, ErrFormat)
	}
	at := l.begin
	for ; at+l.size <= len(reply); at += l.size {
		r := reply[at : at+l.size]
		s := statusCode(r[l.code:], available)
		if s.Number == 0 && s.FailureType == 0 {
			continue
		}
		if l.code == 1 {
			s.Severity = r[0]
		}
		codes = append(codes, s)
	}
	for _, b := range reply[at:] {
		if b == 0 {
			continue
		}
		if l.format > 0 {
			codes = nil
		}
		return codes, available, pids.NewDataError(what, at, pids.ErrRecord)
	}
	return codes, available, nil
}

// statusCode reads the three bytes of a code and its status.
func statusCode(b []byte, available byte) StatusCode {
	s := StatusCode{
		Code:   Code{Number: uint16(b[0])<<8 | uint16(b[1]), FailureType: b[2], Three: true},
		Status: Status{Bits: Bits(b[3] & available), Unreported: Bits(^available)},
	}
	if available == 0 {
		s.Bits = Bits(b[3])
	}
	return s
}

// ParseCount reads a reply to service 19 01: availability mask, format of the codes (00 and
// 04: SAE J2012; 01: the maker's; 02: SAE J1939), and how many there are.
func ParseCount(reply []byte) (available, format byte, count int, err error) {
	switch {
	case len(reply) < 2 || reply[0] != 0x59 || reply[1] != 0x01:
		return 0, 0, 0, pids.NewDataError("number of codes", 0, pids.ErrOther)
	case len(reply) < 6:
		return 0, 0, 0, pids.NewDataError("number of codes", len(reply), pids.ErrShort)
	}
	return reply[2], reply[3], int(reply[4])<<8 | int(reply[5]), nil
}
