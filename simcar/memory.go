package simcar

// Bits of the status byte of a trouble code (ISO 14229-1) that the engine and transmission
// ECUs use, and the mask of those they keep.
const (
	statusTestFailed = 0x01
	statusPending    = 0x04
	statusConfirmed  = 0x08
	statusUntested   = 0x50 // not tested since cleared, nor in this cycle: all codes after a clearing
	statusAvailable  = statusTestFailed | statusPending | statusConfirmed
)

// StatusCode is a code of three bytes with its status (ISO 14229-1), and what is stored with it.
type StatusCode struct {
	Code        Code
	FailureType byte
	Status      byte
	Counter     int8 // fault detection counter; 1 to 126 is about to fail

	Snapshots []Snapshot
	Extended  []ExtendedRecord
}

// Snapshot is a snapshot record, the freeze frame of ISO 14229-1.
type Snapshot struct {
	Number byte
	Data   []Identifier
}

// Identifier is an identifier of service 22 with its data. Replies do not carry the length.
type Identifier struct {
	ID   uint16
	Data []byte
}

// ExtendedRecord is an extended data record. Replies do not carry the length.
type ExtendedRecord struct {
	Number byte
	Data   []byte
}

// freezeNumber is the snapshot of the freeze frame of SAE J1979 (SAE J1979-2:
// 00 the first, F0 the latest; from memory).
const freezeNumber = 0x00

// frozenPIDs are those of the freeze frame that a snapshot holds, as identifiers F4xx.
var frozenPIDs = []byte{0x04, 0x05, 0x06, 0x07, 0x0B, 0x0C, 0x0D, 0x0E, 0x0F, 0x11, 0x1F, 0x42}

// available is the mask of the status bits that the ECU keeps.
func (e *ECU) available() byte {
	switch {
	case e.StatusMask != 0:
		return e.StatusMask
	case e.Module:
		return 0xFF
	default:
		return statusAvailable
	}
}

// codeFormat is the DTCFormatIdentifier of the ECU's codes.
func (e *ECU) codeFormat() byte {
	if e.Module {
		return e.CodeFormat
	}
	return formatJ2012
}

// codes lists all codes that the ECU knows: Status, then the stored and the pending ones.
func (e *ECU) codes() []StatusCode {
	list := append([]StatusCode(nil), e.Status...)
	first := len(list)
	for _, c := range e.Stored {
		list = append(list, e.withFreeze(StatusCode{Code: c, Status: statusConfirmed | statusTestFailed}))
	}
next:
	for _, c := range e.Pending {
		for i := first; i < len(list); i++ {
			if list[i].Code == c {
				list[i].Status |= statusPending
				continue next
			}
		}
		list = append(list, e.withFreeze(StatusCode{Code: c, Status: statusPending}))
	}
	return list
}

// withFreeze gives a code the freeze frame, if that is its own, as a snapshot.
func (e *ECU) withFreeze(c StatusCode) StatusCode {
	if e.Freeze == nil || e.Freeze.Code != c.Code {
		return c
	}
	s := Snapshot{Number: freezeNumber}
	for _, pid := range frozenPIDs {
		if e.supports(pid) {
			s.Data = append(s.Data, Identifier{0xF400 | uint16(pid), number(pid, &e.Freeze.Condition)})
		}
	}
	c.Snapshots = []Snapshot{s}
	return c
}

// withStatus lists the codes that have a bit of mask which the ECU keeps (ISO 14229-1: any
// bit, not all).
func (e *ECU) withStatus(mask byte) []StatusCode {
	list := e.codes()
	kept := list[:0]
	for _, c := range list {
		if c.Status&mask&e.available() != 0 {
			kept = append(kept, c)
		}
	}
	return kept
}

// permanent lists the permanent codes with a status.
func (m *Memory) permanent() []StatusCode {
	var list []StatusCode
	for _, c := range m.Permanent {
		list = append(list, StatusCode{Code: c, Status: statusConfirmed})
	}
	return list
}

// known finds a code by its three bytes, nil when the ECU does not know it.
func (e *ECU) known(code []byte) *StatusCode {
	list := e.codes()
	for i := range list {
		if c := &list[i]; c.Code == Code(code[0])<<8|Code(code[1]) && c.FailureType == code[2] {
			return c
		}
	}
	return nil
}

// clearing is what is left of a clearing: where the car was then.
type clearing struct{ odometerKM float64 }

// forget clears what service 04 clears (SAE J1979): stored and pending codes, freeze frame,
// test results, readiness, and the counts since the last clearing. Permanent codes stay. Codes
// with a status byte stay known and count as untested.
func (m *Memory) forget(now *Condition) {
	m.Stored, m.Pending, m.Freeze = nil, nil, nil
	for i := range m.Status {
		c := &m.Status[i]
		*c = StatusCode{Code: c.Code, FailureType: c.FailureType, Status: statusUntested}
	}
	clear(m.Misfires)
	m.NotReady = monitorsSupported
	m.cleared = &clearing{now.OdometerKM}
}

// sinceCleared corrects the counts that begin with a clearing: distance, warm-ups, and
// distance with the lamp on.
func (m *Memory) sinceCleared(c *Condition) {
	if m.cleared != nil {
		c.ClearedKM, c.WarmUps, c.MILOnKM = max(c.OdometerKM-m.cleared.odometerKM, 0), 0, 0
	}
}

// Groups of codes that service 14 clears (ISO 14229-1).
const (
	groupAll       = 0xFFFFFF
	groupEmissions = 0xFFFF33
)

// clearCodes answers $04 and $14: it does what a car does, and refuses while the engine runs;
// the Sim has counted it.
func clearCodes(e *ECU, q *query) byte {
	switch r := q.request; {
	case r[0] == 0x04 && len(r) != 1, r[0] == 0x14 && len(r) != 4:
		return wrongLength
	case r[0] == 0x14:
		if group := uint32(r[1])<<16 | uint32(r[2])<<8 | uint32(r[3]); group != groupAll && group != groupEmissions {
			return requestOutOfRange
		}
	}
	if q.condition.RPM > 0 {
		return conditionsNotCorrect
	}
	e.forget(q.condition)
	q.add(q.request[0] + 0x40)
	return 0
}
