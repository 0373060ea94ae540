package schedule

import (
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids"
)

// How a count is learnt: seen so often without the digit, checked without it every so many
// uses (an ECU may wake late), given up for good after so many short replies in a row.
const (
	countSteady = 2
	countCheck  = 500
	countGiveUp = 3
	countPause  = 50 // requests without the digit after "wait" was counted as the reply
	fewerMost   = 3  // replies in a row that bring less than the request did
)

// kind is one request text and how many reply lines it brings.
type kind struct {
	request string
	counted string // with the digit
	lines   int
	steady  int // times in a row that lines came out the same without the digit
	short   int // times in a row that fewer lines came with it
	uses    int
	most    int  // lines that it brought at its best
	fewer   int  // times in a row that it brought fewer than that
	guessed bool // one ECU is asked and its reply fits a frame, but no reply has borne it out yet
}

// fitsFrame reports whether the reply of one ECU to a request of service 01 is one frame of
// ISO 15765-2: seven bytes at most.
func fitsFrame(request string) bool {
	const most = 7
	r := reply.ParseRequest(request)
	if r.Service() != 0x01 || len(r.Items()) == 0 {
		return false
	}
	size := 1
	for _, id := range r.Items() {
		p := pids.Lookup(id)
		if !p.FixedLength() {
			return false
		}
		size += 1 + p.MaxLen
	}
	return size <= most
}

// Uncount leaves the count digit out for some time, when it was after the last request and
// "wait" (7F xx 78) was counted as the reply; false when it did not.
func (s *Schedule) Uncount(request string) bool {
	s.plain = countPause
	return s.last != nil && s.last.counted != "" && request == s.last.counted
}

// Starved reports, once, whether some request keeps bringing fewer replies than it did.
func (s *Schedule) Starved() bool {
	for _, k := range s.kinds {
		if k.fewer >= fewerMost {
			k.most, k.fewer = 0, 0
			return true
		}
	}
	return false
}

// Answered books how many reply lines the last request brought; 0 when it went unanswered.
func (s *Schedule) Answered(request string, lines int) {
	k := s.last
	if k == nil {
		return
	}
	k.book(lines)
	switch {
	case lines == 0:
		if k.guessed && request == k.counted { // see for once without the digit
			k.lines, k.steady, k.guessed = 0, 0, false
		}
		return
	case request == k.counted:
		k.guessed = false
		if k.short++; lines >= k.lines {
			k.short = 0
		}
		return
	}
	if request != k.request {
		return
	}
	if lines == k.lines {
		k.steady++
		return
	}
	k.lines, k.steady, k.short = lines, 1, 0
	if lines <= 9 {
		k.counted = request + string(rune('0'+lines))
	} else {
		k.lines = 0 // more than the digit can count in decimal: wait instead
	}
}

// book keeps whether fewer replies come than did.
func (k *kind) book(lines int) {
	if k.fewer++; lines >= k.most {
		k.most, k.fewer = lines, 0
	}
}
