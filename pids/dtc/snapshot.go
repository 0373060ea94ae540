package dtc

import (
	"errors"

	"github.com/judder-obd/judder/pids"
)

// Snapshot is one record of service 19 04: what an ECU kept when it stored the code (the
// freeze frame of ISO 14229-1).
type Snapshot struct {
	Record byte
	Parts  []pids.Part  // identifiers F4xx: the parameters of SAE J1979
	Other  []Identified // the maker's own
}

// Identified is an identifier with its data.
type Identified struct {
	ID   uint16
	Data []byte // a slice of the reply
}

// ErrUnknownLength is an identifier of unknown length with more data after it.
var ErrUnknownLength = errors.New("an identifier of unknown length; what follows cannot be read")

// ParseSnapshots reads a reply to service 19 04: the code with its status, and its records.
// A reply does not hold the lengths of its data. An identifier F4xx has the length of its
// parameter. Any other that is the last of its record takes the rest of the reply; that is
// right when one record was asked for, but with FF the rest may hold further records. The
// error is a *pids.DataError: ErrOther, ErrShort, ErrRecord, ErrUnknownLength; what could be
// read is given with it.
func ParseSnapshots(reply []byte) (code StatusCode, records []Snapshot, err error) {
	const what = "snapshots"
	code, err = detailCode(what, reply, 0x04)
	if err != nil {
		return code, nil, err
	}
	for at := 6; at < len(reply); {
		if at+2 > len(reply) {
			return code, records, pids.NewDataError(what, len(reply), pids.ErrShort)
		}
		s := Snapshot{Record: reply[at]}
		count := int(reply[at+1])
		if count == 0 {
			return code, records, pids.NewDataError(what, at+1, pids.ErrRecord)
		}
		at += 2
		for left := count; left > 0; left-- {
			n, wrong := s.take(reply[at:], left == 1)
			if wrong != nil {
				return code, append(records, s), pids.NewDataError(what, at, wrong)
			}
			at += n
		}
		records = append(records, s)
	}
	return code, records, nil
}

// everyBit is the availability mask where a reply has none.
const everyBit = 0xFF

// detailCode reads the code and status at the beginning of a reply to 19 04 or 19 06.
func detailCode(what string, reply []byte, sub byte) (StatusCode, error) {
	switch {
	case len(reply) < 2 || reply[0] != 0x59 || reply[1] != sub:
		return StatusCode{}, pids.NewDataError(what, 0, pids.ErrOther)
	case len(reply) < 6:
		return StatusCode{}, pids.NewDataError(what, len(reply), pids.ErrShort)
	}
	return statusCode(reply[2:], everyBit), nil
}

// take reads one identifier and its data, and returns how many bytes that were. The last
// identifier of a record takes the rest of the reply when its length is unknown.
func (s *Snapshot) take(b []byte, last bool) (n int, err error) {
	if len(b) < 3 {
		return 0, pids.ErrShort
	}
	id := uint16(b[0])<<8 | uint16(b[1])
	if p := pids.Lookup(b[1]); id>>8 == mirrorPage && p.Known() && !p.IsMap() {
		n = 2 + snapshotLength(p, b[2:], last)
		if len(b) < n {
			return 0, pids.ErrShort
		}
		s.Parts = append(s.Parts, pids.Part{PID: p, Data: b[2:n]})
		return n, nil
	}
	if !last {
		return 0, ErrUnknownLength
	}
	s.Other = append(s.Other, Identified{id, b[2:]})
	return len(b), nil
}

// mirrorPage is the upper byte of the identifiers that mirror the parameters of SAE J1979.
const mirrorPage = 0xF4

// snapshotLength is how many bytes of data a parameter has. Where several lengths are
// possible, it is the shortest that is followed by another identifier of the same page, or by
// the end.
func snapshotLength(p *pids.PID, data []byte, last bool) int {
	if p.FixedLength() {
		return p.MinLen
	}
	for n := p.MinLen; n <= min(p.MaxLen, len(data)); n++ {
		if last && n == len(data) || !last && n < len(data) && data[n] == mirrorPage {
			return n
		}
	}
	return p.MinLen
}

// ExtendedRecord is one record of service 19 06.
type ExtendedRecord struct {
	Record byte
	Data   []byte // a slice of the reply
}

// ParseExtended reads a reply to service 19 06 that asked for one record. A reply does not hold
// the length of its data, so the rest is one record. A code with nothing stored gives none.
func ParseExtended(reply []byte) (code StatusCode, record *ExtendedRecord, err error) {
	const what = "extended data"
	if code, err = detailCode(what, reply, 0x06); err != nil || len(reply) == 6 {
		return code, nil, err
	}
	if reply[6] == 0 {
		return code, nil, pids.NewDataError(what, 6, pids.ErrRecord) // number 0 is reserved
	}
	return code, &ExtendedRecord{reply[6], reply[7:]}, nil
}
