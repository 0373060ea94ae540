package simcar

import (
	"cmp"
	"slices"
)

// Negative response codes (ISO 14229-1).
const (
	serviceNotSupported     = 0x11
	subFunctionNotSupported = 0x12
	wrongLength             = 0x13
	conditionsNotCorrect    = 0x22
	requestOutOfRange       = 0x31
	responsePending         = 0x78
)

// service answers one request by adding messages to q, none for silence, and returns 0
// or a negative response code.
type service func(e *ECU, q *query) byte

// services is what an ECU can do, by service id. A car of SAE J1979-2 has only those
// from $10 up.
var services map[byte]service

func init() { // here, because the functions reach the table themselves
	services = map[byte]service{
		0x01: currentData,
		0x02: freezeFrame,
		0x03: readCodes(func(e *ECU) []Code { return e.Stored }),
		0x04: clearCodes,
		0x06: testResults,
		0x07: readCodes(func(e *ECU) []Code { return e.Pending }),
		0x09: vehicleInformation,
		0x0A: readCodes(func(e *ECU) []Code { return e.Permanent }),
		0x14: clearCodes,
		0x19: codeInformation,
		0x22: dataByIdentifier,
		0x3E: testerPresent,
	}
}

// writing are the services that change the car; a reader must not send them unasked.
var writing = [256]bool{
	0x04: true, 0x08: true, 0x10: true, 0x11: true, 0x14: true, 0x27: true, 0x28: true, 0x2E: true, 0x2F: true,
	0x31: true, 0x34: true, 0x35: true, 0x36: true, 0x37: true, 0x3B: true, 0x3D: true, 0x85: true, 0x87: true,
}

// query is one request as one ECU sees it, and the reply in the making.
type query struct {
	request    []byte
	can        bool // CAN layouts; else those of the older buses
	functional bool // sent to all ECUs
	condition  *Condition

	messages [][]byte
	buffer   []byte // the messages lie in it one after another
	readings []Reading
}

// reset makes the query ready for the next ECU and keeps its memory.
func (q *query) reset() {
	q.messages, q.buffer, q.readings = q.messages[:0], q.buffer[:0], q.readings[:0]
}

// add begins a message.
func (q *query) add(b ...byte) {
	start := len(q.buffer)
	q.buffer = append(q.buffer, b...)
	q.messages = append(q.messages, q.buffer[start:])
}

// extend adds to the last message.
func (q *query) extend(b ...byte) {
	last := len(q.messages) - 1
	q.buffer = append(q.buffer, b...)
	q.messages[last] = q.buffer[len(q.buffer)-len(q.messages[last])-len(b):]
}

// has reports whether the ECU has a service at all.
func (e *ECU) has(id byte) bool {
	switch {
	case e.Module:
		return moduleServices[id]
	case e.OBDonUDS:
		return id >= 0x10
	default:
		return true
	}
}

// answer lets the ECU work on q, or refuse it. A functional request gets no reply of code 11,
// 12 or 31 (ISO 14229-1): q is then left without messages.
func (e *ECU) answer(q *query, refused *Refusal) {
	q.reset()
	if refused != nil {
		q.add(0x7F, q.request[0], refused.Code)
		return
	}
	code := byte(serviceNotSupported)
	if do := services[q.request[0]]; do != nil && e.has(q.request[0]) {
		code = do(e, q)
	}
	if code == 0 {
		return
	}
	q.reset()
	if q.functional && (code == serviceNotSupported || code == subFunctionNotSupported || code == requestOutOfRange) {
		return
	}
	q.add(0x7F, q.request[0], code)
}

// currentData is service $01: up to six PIDs in one message on CAN, one elsewhere.
func currentData(e *ECU, q *query) byte {
	pids := q.request[1:]
	if len(pids) == 0 || len(pids) > 6 || (!q.can && len(pids) > 1) {
		return wrongLength
	}
	q.add(0x41)
	for _, pid := range e.ReplyOrder.arrange(pids) {
		if e.supports(pid) {
			q.extend(pid)
			e.extendWithData(q, pid, 0x01)
		}
	}
	if len(q.messages[0]) == 1 {
		return subFunctionNotSupported
	}
	return 0
}

// arrange is the order in which the data of several PIDs are sent.
func (o ReplyOrder) arrange(pids []byte) []byte {
	if o == AsAsked || len(pids) < 2 {
		return pids
	}
	pids = slices.Clone(pids)
	if o == Ascending {
		slices.SortFunc(pids, cmp.Compare[byte])
	} else {
		slices.Reverse(pids)
	}
	return pids
}

// extendWithData adds the data bytes of one supported PID.
func (e *ECU) extendWithData(q *query, pid, service byte) {
	if pid%0x20 == 0 {
		m := supportMap(pid, e.supports)
		q.extend(m[:]...)
		return
	}
	if p := parameterOf[pid]; p != nil {
		var b [4]byte
		data, value := p.append(b[:0], q.condition)
		q.extend(data...)
		q.readings = append(q.readings, Reading{Service: service, PID: pid, Value: value})
		return
	}
	if r := recordOf[pid]; r != nil {
		q.extend(r.bytes(q.condition, e)...)
	}
}

// freezeFrame is service $02: PID and frame number in, both back, then the data.
func freezeFrame(e *ECU, q *query) byte {
	if len(q.request) != 3 {
		return wrongLength
	}
	pid, frame := q.request[1], q.request[2]
	has := func(p byte) bool { return p != 0x01 && (p == 0x02 || e.supports(p)) }
	switch {
	case frame != 0 || !has(pid):
		return subFunctionNotSupported
	case pid%0x20 == 0:
		m := supportMap(pid, has)
		q.add(0x42, pid, frame)
		q.extend(m[:]...)
	case pid == 0x02:
		var c Code // 0000: none stored
		if e.Freeze != nil {
			c = e.Freeze.Code
		}
		q.add(0x42, pid, frame, byte(c>>8), byte(c))
	case e.Freeze == nil:
		return requestOutOfRange
	default:
		q.add(0x42, pid, frame)
		now := q.condition
		q.condition = &e.Freeze.Condition
		e.extendWithData(q, pid, 0x02)
		q.condition = now
	}
	return 0
}

// testerPresent is service $3E: sub-function 80 asks for silence.
func testerPresent(_ *ECU, q *query) byte {
	switch {
	case len(q.request) == 1: // ISO 14230 form
		q.add(0x7E)
	case q.request[1]&0x7F != 0:
		return subFunctionNotSupported
	case q.request[1] == 0:
		q.add(0x7E, 0x00)
	}
	return 0
}
