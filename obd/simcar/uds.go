package simcar

// Bits of the status byte of a trouble code that the ECUs here use, and the mask of
// those they keep (ISO 14229-1).
const (
	statusTestFailed = 0x01
	statusPending    = 0x04
	statusConfirmed  = 0x08
	statusAvailable  = statusTestFailed | statusPending | statusConfirmed
)

// Further bytes of service $19 (ISO 14229-1).
const (
	formatJ2012    = 0x04 // code format: SAE J2012 as used by WWH-OBD
	emissionsGroup = 0x33 // functional group: emissions
	severityClassA = 0x02
)

// StatusCode is a code of three bytes with its status (ISO 14229-1).
type StatusCode struct {
	Code        Code
	FailureType byte
	Status      byte
}

// available is the mask of the status bits that the ECU keeps.
func (e *ECU) available() byte {
	if e.Module {
		return 0xFF
	}
	return statusAvailable
}

// withStatus lists the stored and the pending codes that have a bit of mask.
func (e *ECU) withStatus(mask byte) []StatusCode {
	list := append([]StatusCode(nil), e.Status...)
	for _, c := range e.Stored {
		list = append(list, StatusCode{c, 0, statusConfirmed | statusTestFailed})
	}
	for _, c := range e.Pending {
		list = append(list, StatusCode{c, 0, statusPending})
	}
	kept := list[:0]
	for _, c := range list {
		if c.Status&mask != 0 {
			kept = append(kept, c)
		}
	}
	return kept
}

// extendWithCodes adds records of four bytes: code, failure type 00, status.
func (q *query) extendWithCodes(list []StatusCode) {
	for _, c := range list {
		q.extend(byte(c.Code>>8), byte(c.Code), c.FailureType, c.Status)
	}
}

// codeReports are the sub-functions of service $19: length of the request, reply.
var codeReports = map[byte]struct {
	length int
	reply  func(*ECU, *query)
}{
	0x01: {3, func(e *ECU, q *query) {
		n := len(e.withStatus(q.request[2]))
		q.add(0x59, 0x01, e.available(), formatJ2012, byte(n>>8), byte(n))
	}},
	0x02: {3, func(e *ECU, q *query) {
		q.add(0x59, 0x02, e.available())
		q.extendWithCodes(e.withStatus(q.request[2]))
	}},
	0x0A: {2, func(e *ECU, q *query) {
		q.add(0x59, 0x0A, e.available())
		q.extendWithCodes(e.withStatus(0xFF))
	}},
	0x15: {2, func(e *ECU, q *query) {
		q.add(0x59, 0x15, statusAvailable)
		q.extendWithCodes(e.permanent())
	}},
	0x42: {5, func(e *ECU, q *query) { // 19 42 group status-mask severity-mask
		q.add(0x59, 0x42, q.request[2], statusAvailable, 0xFF, formatJ2012)
		for _, c := range e.withStatus(q.request[3]) {
			q.extend(severityClassA, byte(c.Code>>8), byte(c.Code), c.FailureType, c.Status)
		}
	}},
	0x55: {3, func(e *ECU, q *query) {
		q.add(0x59, 0x55, q.request[2], statusAvailable, formatJ2012)
		q.extendWithCodes(e.permanent())
	}},
}

// permanent lists the permanent codes with a status.
func (e *ECU) permanent() []StatusCode {
	var list []StatusCode
	for _, c := range e.Permanent {
		list = append(list, StatusCode{c, 0, statusConfirmed})
	}
	return list
}

// codeInformation is service $19.
func codeInformation(e *ECU, q *query) byte {
	if len(q.request) < 2 {
		return wrongLength
	}
	report, ok := codeReports[q.request[1]&0x7F]
	switch sub := q.request[1] & 0x7F; {
	case !ok:
		return subFunctionNotSupported
	case len(q.request) != report.length:
		return wrongLength
	case (sub == 0x42 || sub == 0x55) && q.request[2] != emissionsGroup:
		return requestOutOfRange
	}
	report.reply(e, q)
	return 0
}

// dataByIdentifier is service $22: identifiers the ECU does not know are left out; when
// it knows none the request is out of range.
func dataByIdentifier(e *ECU, q *query) byte {
	dids := q.request[1:]
	if len(dids) == 0 || len(dids)%2 != 0 {
		return wrongLength
	}
	q.add(0x62)
	for i := 0; i < len(dids); i += 2 {
		e.extendWithIdentifier(q, uint16(dids[i])<<8|uint16(dids[i+1]))
	}
	if len(q.messages[0]) == 1 {
		return requestOutOfRange
	}
	return 0
}

// extendWithIdentifier adds one identifier and its data, or nothing.
func (e *ECU) extendWithIdentifier(q *query, did uint16) {
	high, low := byte(did>>8), byte(did)
	if data, ok := e.DIDs[did]; ok {
		q.extend(high, low)
		q.extend(data...)
		return
	}
	switch {
	case !e.OBDonUDS:
	case high == 0xF4 && e.supports(low): // mirrors service $01
		q.extend(high, low)
		e.extendWithData(q, low, 0x22)
	case did == 0xF810: // protocol identification; value from memory
		q.extend(high, low, 0x01)
	case high == 0xF8: // mirrors service $09
		for _, t := range infoTypes {
			if data := t.data(e); t.id == low && len(data) > 0 {
				q.extend(high, low)
				q.extend(data...)
			}
		}
	}
}
