package reply

import "time"

// A reply is taken for one to an earlier request when it has exactly what that asked for, and that
// is among the last few and not older than this: a late reply is a reading, a damaged one is none.
// The longest wait of the standards is 5 s, after "response pending".
const (
	recentMost   = 8
	recentWithin = 6 * time.Second
)

// recent are the requests asked last, so that a late reply finds its own.
type recent struct {
	ring [recentMost]recentRequest
	next int // place of the request that comes next
}

type recentRequest struct {
	Request
	sent time.Duration
}

func (r *recent) add(request Request, sent time.Duration) {
	r.ring[r.next] = recentRequest{request, sent}
	r.next = (r.next + 1) % recentMost
}

// answered finds the latest request that a reply answers; nil when there is none. late reports
// that another was asked after it.
func (r *recent) answered(at time.Duration, reply []byte) (request *Request, late bool) {
	for back := 1; back <= recentMost; back++ {
		q := &r.ring[(r.next-back+recentMost)%recentMost]
		if !q.ToCar() || at-q.sent > recentWithin {
			return nil, false
		}
		if at >= q.sent && q.AnsweredBy(reply) { // what was there before answers an earlier one
			return &q.Request, back > 1
		}
	}
	return nil, false
}
