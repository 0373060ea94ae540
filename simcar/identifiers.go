package simcar

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

// protocolIdentification is info type $10, the mark of a car after SAE J1979-2 (value from memory).
const protocolIdentification = 0x10

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
	case did == 0xF800:
		m := supportMap(0, func(id byte) bool { return id == protocolIdentification || e.hasInfo(id, true) })
		q.extend(high, low)
		q.extend(m[:]...)
	case did == 0xF800|protocolIdentification:
		q.extend(high, low, 0x01)
	case high == 0xF8: // mirrors service $09
		e.extendWithInfo(q, low)
	}
}

// extendWithInfo adds an info type under F8xx. No source says whether a count of items comes
// first, as in service $09: CountedInfo chooses.
func (e *ECU) extendWithInfo(q *query, id byte) {
	for _, t := range infoTypes {
		data := t.data(e)
		if t.id != id || len(data) == 0 {
			continue
		}
		q.extend(0xF8, id)
		if e.CountedInfo {
			q.extend(0x01)
		}
		q.extend(data...)
	}
}
