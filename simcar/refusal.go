package simcar

import "time"

// Refusal makes an ECU answer a request negatively: 7F, service, code.
type Refusal struct {
	Service byte
	Param   int           // PID, info type or identifier; −1 for any
	Code    byte          // ISO 14229-1 negative response code
	Times   int           // so many requests, then it answers; 0: all
	Then    time.Duration // code 78 only: the positive reply follows after this
	// Again is how many times more 78 comes, Then apart, before the reply; −1: without end
	// (that is 1000 times, and never a reply).
	Again int

	given int // requests refused so far
}

// endlessPending is how often 78 comes where it comes without end: an Instant Sim must end.
const endlessPending = 1000

// refusal finds the rule for a request, nil when there is none.
func (e *ECU) refusal(request []byte) *Refusal {
	for i := range e.Refusals {
		r := &e.Refusals[i]
		if r.Service != request[0] {
			continue
		}
		if (r.Param < 0 || r.Param == parameterNumber(request)) && (r.Times == 0 || r.given < r.Times) {
			return r
		}
	}
	return nil
}

// parameterNumber is the PID, info type or identifier of a request, −1 when it has none.
func parameterNumber(request []byte) int {
	switch {
	case request[0] == 0x22 && len(request) >= 3:
		return int(request[1])<<8 | int(request[2])
	case len(request) >= 2:
		return int(request[1])
	default:
		return -1
	}
}

// pendingPatience is how long a patient adapter waits for the reply after a 78: as long as the
// ECU may take (ISO 14229-2: P2* is 5 s; what the chip does meanwhile is from memory).
const pendingPatience = 5 * time.Second

// refuse gives a turn its refusal; nil is none. The Sim's lock is held.
func (t *turn) refuse(r *Refusal) {
	if r == nil {
		return
	}
	r.given++
	t.refusal = r
	switch {
	case r.Code != responsePending:
	case r.Again < 0:
		t.waits = endlessPending
	default:
		t.waits = 1 + r.Again
	}
}

// again is the next turn of an ECU that has said that its reply is pending.
func (t *turn) again() (turn, bool) {
	if t.refusal == nil || t.refusal.Code != responsePending {
		return turn{}, false
	}
	next := *t
	next.at += t.refusal.Then
	if next.waits--; next.waits > 0 {
		return next, true
	}
	next.refusal = nil
	return next, t.refusal.Again >= 0
}

// saysPending reports whether a frame holds no more than 7F xx 78.
func (f *frame) saysPending(kind busKind) bool {
	data := f.legacy
	if kind == busCAN {
		data = f.can[1:]
	} else if len(data) > 3 {
		data = data[3:]
	}
	return len(data) > 2 && data[0] == 0x7F && data[2] == responsePending
}

// WaitsOnce makes an ECU say "wait" (7F xx 78) to the first request of each service given; its
// reply follows after so long. Every later request it answers in time. Put the result in
// ECU.Refusals.
func WaitsOnce(after time.Duration, services ...byte) []Refusal {
	var refusals []Refusal
	for _, service := range services {
		refusals = append(refusals, Refusal{Service: service, Param: -1, Code: responsePending, Times: 1, Then: after})
	}
	return refusals
}

// ReadingServices are the services of SAE J1979 that read from an ECU and do not change it.
var ReadingServices = []byte{0x01, 0x02, 0x03, 0x06, 0x07, 0x09, 0x0A}
