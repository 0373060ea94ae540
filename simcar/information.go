package simcar

// infoType is one info type of service $09.
type infoType struct {
	id    byte // on CAN
	count byte // the older buses' info type that says how many messages will come; 0: none
	// data is the content without the count byte; empty when the ECU has none.
	data func(*ECU) []byte
}

// infoTypes is the table of service $09 (SAE J1979).
var infoTypes = []infoType{
	{0x02, 0x01, func(e *ECU) []byte { return []byte(e.VIN) }},
	{0x04, 0x03, func(e *ECU) []byte { return padded(e.CalibrationID, 16) }},
	{0x06, 0x05, func(e *ECU) []byte {
		if e.CVN == 0 {
			return nil
		}
		return []byte{byte(e.CVN >> 24), byte(e.CVN >> 16), byte(e.CVN >> 8), byte(e.CVN)}
	}},
	{0x0A, 0x09, func(e *ECU) []byte { return padded(e.Name, 20) }},
}

// padded is text filled up with zero bytes, or cut, to n; nothing stays nothing.
func padded(text string, n int) []byte {
	if text == "" {
		return nil
	}
	b := make([]byte, n)
	copy(b, text)
	return b
}

// legacyMessages is the number of four-byte messages that data need.
func legacyMessages(data []byte) byte { return byte((len(data) + 3) / 4) }

// vehicleInformation is service $09. On CAN: a count of items, then the data in one
// message; elsewhere messages of four bytes, numbered from 1, the VIN with three zero
// bytes in front.
func vehicleInformation(e *ECU, q *query) byte {
	if len(q.request) != 2 {
		return wrongLength
	}
	id := q.request[1]
	if id == 0 {
		m := supportMap(0, func(id byte) bool { return e.hasInfo(id, q.can) })
		q.add(0x49, 0x00)
		if q.can {
			q.extend(m[:]...)
		} else {
			q.extend(append([]byte{0x01}, m[:]...)...)
		}
		return 0
	}
	for _, t := range infoTypes {
		data := t.data(e)
		switch {
		case len(data) == 0 || id != t.id && (q.can || id != t.count):
		case q.can:
			q.add(0x49, id, 0x01)
			q.extend(data...)
			return 0
		case id == t.count:
			q.add(0x49, id, legacyMessages(data))
			return 0
		default:
			addNumbered(q, id, data)
			return 0
		}
	}
	return subFunctionNotSupported
}

// addNumbered adds the messages of the older buses.
func addNumbered(q *query, id byte, data []byte) {
	n := legacyMessages(data)
	front := make([]byte, int(n)*4-len(data)) // only the VIN is not a multiple of four
	data = append(front, data...)
	for i := range n {
		q.add(0x49, id, i+1)
		q.extend(data[4*i : 4*i+4]...)
	}
}

// hasInfo reports whether an info type is supported.
func (e *ECU) hasInfo(id byte, can bool) bool {
	for _, t := range infoTypes {
		if (t.id == id || t.count == id && !can) && len(t.data(e)) > 0 {
			return true
		}
	}
	return false
}
