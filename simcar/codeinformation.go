package simcar

// Further bytes of service $19 (ISO 14229-1).
const (
	formatJ2012    = 0x04 // code format: SAE J2012 as used by WWH-OBD
	emissionsGroup = 0x33 // functional group: emissions
	severityClassA = 0x02
	allRecords     = 0xFF
	allOBDRecords  = 0xFE // extended data: 90 to 9F
)

// extendWithCode adds the three bytes of a code, and its status.
func (q *query) extendWithCode(c *StatusCode, status byte) {
	q.extend(byte(c.Code>>8), byte(c.Code), c.FailureType, status)
}

// extendWithCodes adds records of four bytes: code, failure type, status.
func (q *query) extendWithCodes(list []StatusCode) {
	for i := range list {
		q.extendWithCode(&list[i], list[i].Status)
	}
}

// codeReport is a sub-function of service $19: length of the request, and what gives the
// reply or a negative response code.
type codeReport struct {
	length int
	reply  func(*ECU, *query) byte
}

// codeReports are the sub-functions of service $19 (ISO 14229-1).
var codeReports = map[byte]codeReport{
	0x01: {3, func(e *ECU, q *query) byte {
		n := len(e.withStatus(q.request[2]))
		q.add(0x59, 0x01, e.available(), e.codeFormat(), byte(n>>8), byte(n))
		return 0
	}},
	0x02: {3, func(e *ECU, q *query) byte {
		q.add(0x59, 0x02, e.available())
		q.extendWithCodes(e.withStatus(q.request[2]))
		return 0
	}},
	0x03: {2, snapshotIndex},
	0x04: {6, snapshots},
	0x06: {6, extendedData},
	0x0A: {2, func(e *ECU, q *query) byte {
		q.add(0x59, 0x0A, e.available())
		q.extendWithCodes(e.codes())
		return 0
	}},
	0x14: {2, faultCounters},
	0x15: {2, func(e *ECU, q *query) byte {
		q.add(0x59, 0x15, e.available())
		q.extendWithCodes(e.permanent())
		return 0
	}},
	0x42: {5, emissionCodes},
	0x55: {3, func(e *ECU, q *query) byte {
		if q.request[2] != emissionsGroup {
			return requestOutOfRange
		}
		q.add(0x59, 0x55, q.request[2], e.available(), e.codeFormat())
		q.extendWithCodes(e.permanent())
		return 0
	}},
}

// emissionCodes is 19 42 group status-mask severity-mask; all codes here are of class A.
func emissionCodes(e *ECU, q *query) byte {
	if q.request[2] != emissionsGroup {
		return requestOutOfRange
	}
	q.add(0x59, 0x42, q.request[2], e.available(), 0xFF, e.codeFormat())
	if q.request[4]&severityClassA == 0 {
		return 0
	}
	for _, c := range e.withStatus(q.request[3]) {
		q.extend(severityClassA)
		q.extendWithCode(&c, c.Status)
	}
	return 0
}

// snapshotIndex is 19 03: each code with the number of each of its snapshots.
func snapshotIndex(e *ECU, q *query) byte {
	q.add(0x59, 0x03)
	for _, c := range e.codes() {
		for _, s := range c.Snapshots {
			q.extendWithCode(&c, s.Number)
		}
	}
	return 0
}

// faultCounters is 19 14: the codes that are about to fail.
func faultCounters(e *ECU, q *query) byte {
	q.add(0x59, 0x14)
	for _, c := range e.codes() {
		if c.Counter > 0 && c.Counter < 127 {
			q.extendWithCode(&c, byte(c.Counter))
		}
	}
	return 0
}

// snapshots is 19 04 code record: number, count of identifiers, then those with their data.
// A code without the record has an empty reply when another code has it.
func snapshots(e *ECU, q *query) byte {
	c, wanted := e.known(q.request[2:5]), q.request[5]
	found := wanted == allRecords
	for _, other := range e.codes() {
		for _, s := range other.Snapshots {
			found = found || s.Number == wanted
		}
	}
	if c == nil || !found {
		return requestOutOfRange
	}
	q.add(0x59, 0x04)
	q.extendWithCode(c, c.Status)
	for _, s := range c.Snapshots {
		if wanted != allRecords && s.Number != wanted {
			continue
		}
		q.extend(s.Number, byte(len(s.Data)))
		for _, d := range s.Data {
			q.extend(byte(d.ID>>8), byte(d.ID))
			q.extend(d.Data...)
		}
	}
	return 0
}

// extendedData is 19 06 code record: number and data, without a count.
func extendedData(e *ECU, q *query) byte {
	c, wanted := e.known(q.request[2:5]), q.request[5]
	asked := func(number byte) bool {
		return wanted == allRecords || wanted == allOBDRecords && number&0xF0 == 0x90 || number == wanted
	}
	found := wanted >= allOBDRecords
	for _, other := range e.codes() {
		for _, r := range other.Extended {
			found = found || r.Number == wanted
		}
	}
	if c == nil || !found {
		return requestOutOfRange
	}
	q.add(0x59, 0x06)
	q.extendWithCode(c, c.Status)
	for _, r := range c.Extended {
		if asked(r.Number) {
			q.extend(r.Number)
			q.extend(r.Data...)
		}
	}
	return 0
}

// codeInformation is service $19. Sub-functions 42 and 55 belong to emission ECUs.
func codeInformation(e *ECU, q *query) byte {
	if len(q.request) < 2 {
		return wrongLength
	}
	sub := q.request[1] & 0x7F
	report, ok := codeReports[sub]
	switch {
	case !ok || e.Module && (sub == 0x42 || sub == 0x55):
		return subFunctionNotSupported
	case len(q.request) != report.length:
		return wrongLength
	}
	return report.reply(e, q)
}
