package simcar

import "time"

// pendingPatience is how long a patient adapter waits for the reply after a 78: as long as the
// ECU may take (ISO 14229-2: P2* is 5 s; what the chip does meanwhile is from memory).
const pendingPatience = 5 * time.Second

// meet lets a turn meet a refusal; nil is none. The Sim's lock is held.
func (t *turn) meet(r *Refusal) {
	if r == nil {
		return
	}
	r.met++
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

// saysPending says whether a frame holds no more than 7F xx 78.
func (f *frame) saysPending(kind busKind) bool {
	data := f.legacy
	if kind == busCAN {
		data = f.can[1:]
	} else if len(data) > 3 {
		data = data[3:]
	}
	return len(data) > 2 && data[0] == 0x7F && data[2] == responsePending
}
