package pids

import "strings"

// Bits of the status of a trouble code (ISO 14229-1).
const (
	statusFailed       = 0x01 // the latest finished test failed
	statusFailedCycle  = 0x02 // failed at least once since this start
	statusPending      = 0x04 // failed in this or the last tested cycle
	statusConfirmed    = 0x08 // failed often enough to be stored
	statusNotSince     = 0x10 // not tested since cleared
	statusFailedSince  = 0x20 // failed at least once since cleared
	statusNotThisCycle = 0x40 // not tested since this start
	statusLamp         = 0x80 // asks for a warning lamp
)

// StatusCode is a trouble code with its status (ISO 14229-1 service 19), and its severity
// where that was asked.
type StatusCode struct {
	Code
	Status, Severity byte
}

// State is one word for the status: "current" (test failed), else "pending", else "history"
// (confirmed), else "untested" since cleared, else "": no fault.
func (s StatusCode) State() string {
	switch {
	case s.Status&statusFailed != 0:
		return "current"
	case s.Status&statusPending != 0:
		return "pending"
	case s.Status&statusConfirmed != 0:
		return "history"
	case s.Status&statusNotSince != 0:
		return "untested"
	}
	return ""
}

// Words tells the status in full.
func (s StatusCode) Words() string {
	var w []string
	say := func(when bool, text string) {
		if when {
			w = append(w, text)
		}
	}
	has := func(bit byte) bool { return s.Status&bit != 0 }
	say(has(statusFailed), "fails now")
	say(!has(statusFailed) && has(statusFailedCycle|statusPending) && has(statusConfirmed), "intermittent: failed lately, not now")
	say(!has(statusFailed) && has(statusPending) && !has(statusConfirmed), "failed lately, not now")
	say(!has(statusFailed|statusFailedCycle|statusPending) && has(statusConfirmed), "its last test passed")
	say(has(statusConfirmed), "stored")
	say(!has(statusConfirmed|statusPending|statusFailed) && has(statusFailedSince), "failed once since cleared, not stored")
	say(has(statusNotThisCycle), "not tested again since this start")
	say(has(statusNotSince), "not tested since cleared: unknown, not good")
	say(has(statusLamp), "asks for a warning lamp")
	if len(w) == 0 {
		return "tested, no fault"
	}
	return strings.Join(w, ", ")
}

// statusLayouts are the replies of service 19 that list codes: where records begin, how long
// one is, where the code stands in it, and where the availability mask stands. Sub-function
// 42 has the severity first (ISO 14229-1 as several public libraries read it).
var statusLayouts = map[byte]struct{ begin, size, code, mask int }{
	0x02: {3, 4, 0, 2}, 0x0A: {3, 4, 0, 2}, 0x15: {3, 4, 0, 2},
	0x42: {6, 5, 1, 3}, 0x55: {5, 4, 0, 3},
}

// ParseStatusCodes reads a reply to service 19, sub-functions 02, 0A, 15, 42 and 55 (59
// first). available is the ECU's availability mask: bits that are 0 in it mean nothing, and
// are taken out of every status. Records of zeros are padding. The error is a *DataError:
// ErrOther, ErrShort, ErrRecord; codes that could be read are given with it.
func ParseStatusCodes(reply []byte) (codes []StatusCode, available byte, err error) {
	if len(reply) < 2 || reply[0] != 0x59 {
		return nil, 0, &DataError{"codes with status", 0, ErrOther}
	}
	l, ok := statusLayouts[reply[1]]
	switch {
	case !ok:
		return nil, 0, &DataError{"codes with status", 1, ErrOther}
	case len(reply) < l.begin:
		return nil, 0, &DataError{"codes with status", len(reply), ErrShort}
	}
	available = reply[l.mask]
	at := l.begin
	for ; at+l.size <= len(reply); at += l.size {
		r := reply[at : at+l.size]
		c := r[l.code:]
		if c[0]|c[1]|c[2] == 0 {
			continue
		}
		s := StatusCode{Code: Code{Number: uint16(c[0])<<8 | uint16(c[1]), FailureType: c[2], Three: true}, Status: c[3] & available}
		if l.code == 1 {
			s.Severity = r[0]
		}
		codes = append(codes, s)
	}
	for _, b := range reply[at:] {
		if b != 0 {
			return codes, available, &DataError{"codes with status", at, ErrRecord}
		}
	}
	return codes, available, nil
}

// ParseCount reads a reply to service 19 01: availability mask, format of the codes (00 and
// 04: SAE J2012; 01: the maker's; 02: SAE J1939), and how many there are.
func ParseCount(reply []byte) (available, format byte, count int, err error) {
	switch {
	case len(reply) < 2 || reply[0] != 0x59 || reply[1] != 0x01:
		return 0, 0, 0, &DataError{"number of codes", 0, ErrOther}
	case len(reply) < 6:
		return 0, 0, 0, &DataError{"number of codes", len(reply), ErrShort}
	}
	return reply[2], reply[3], int(reply[4])<<8 | int(reply[5]), nil
}
