package drive

import (
	"time"

	"judder/obd"
	"judder/obd/reply"
	"judder/pids"
)

// companion is a parameter asked beside engine speed.
type companion struct {
	pid    byte
	period time.Duration // wanted between two readings
	group  byte          // of one group only the first that the car supports is asked; 0: none
	spare  bool          // left out on a link of few exchanges, where others tell enough
}

// companions in order of worth. Road speed, throttle, pedal and load decide what may be
// judged and are wanted at 3 a second or better (a throttle that moved 0.3 s ago must be
// known); the rest changes slowly. Common practice, no source.
var companions = []companion{
	{0x0D, 200 * time.Millisecond, 0, false},   // vehicle speed
	{0x11, 200 * time.Millisecond, 't', false}, // throttle position
	{0x45, 200 * time.Millisecond, 't', false}, // relative throttle position
	{0x4C, 200 * time.Millisecond, 't', false}, // commanded throttle actuator
	{0x04, 250 * time.Millisecond, 'l', false}, // calculated load
	{0x43, 250 * time.Millisecond, 'l', false}, // absolute load
	{0x5A, 250 * time.Millisecond, 'p', true},  // relative pedal position
	{0x49, 250 * time.Millisecond, 'p', true},  // pedal position D
	{0x0B, time.Second, 'm', true},             // manifold pressure
	{0x10, time.Second, 'm', true},             // air flow
	{0xA4, time.Second, 0, true},               // actual gear and its ratio, where a car tells them
	{0x05, 4 * time.Second, 0, false},          // coolant temperature
	{0x42, 5 * time.Second, 0, false},          // control module voltage
	{0x0F, 20 * time.Second, 0, true},          // intake air temperature
	{0x46, 30 * time.Second, 0, true},          // ambient air temperature
}

// loadWhenFew is how often load is wanted on a link of few exchanges: it says under what
// the car was, and decides nothing by the second.
const loadWhenFew = 600 * time.Millisecond

// Schedule says what to ask next. It is pure: what came back and when is told to it.
type Schedule struct {
	can    obd.Capabilities
	asked  []channel
	hasRPM bool
	speed  string // the request for engine speed alone
	foot   bool   // throttle is asked, so that the pedal may be left out
	since  int    // requests for engine speed alone since the last companion
	before time.Duration
	usual  time.Duration // between two requests, smoothed; 0 before the first two
	dice   uint32
	kinds  map[string]*kind
	last   *kind
	plain  int      // requests still to go without the count digit
	heard  bool     // the request before brought a reply
	used   *channel // of the last request; nil when it was for engine speed alone
}

type channel struct {
	companion
	single, bundled string // requests, without the count digit
	alone           bool   // shares no reply, so that it costs a reading of engine speed
	last            time.Duration
	ever            bool
	missed          int // times in a row that it went unanswered
}

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

// How a count is learnt: seen so often without the digit, checked without it every so many
// uses (an ECU may wake late), given up for good after so many short replies in a row.
const (
	countSteady = 2
	countCheck  = 500
	countGiveUp = 3
	countPause  = 50 // requests without the digit after "wait" was counted as the reply
	fewerMost   = 3  // replies in a row that bring less than the request did
)

// A parameter that a car claims and does not answer is left out after so many tries, and tried
// again after a pause that doubles: each costs the adapter's whole wait for a reply.
const (
	missedMost  = 4
	missedAgain = 4 * time.Second
	missedPause = time.Minute // at most
)

// NewSchedule makes the schedule for a car that supports the given PIDs.
func NewSchedule(can obd.Capabilities, supported func(pid byte) bool) *Schedule {
	s := &Schedule{can: can, hasRPM: supported(obd.EngineSpeed), speed: can.Parameters(obd.EngineSpeed), dice: 1, kinds: map[string]*kind{}}
	var taken [256]bool
	for _, c := range companions {
		if !supported(c.pid) || c.group != 0 && taken[c.group] {
			continue
		}
		taken[c.group] = true
		s.foot = s.foot || c.group == 't'
		ch := channel{companion: c, single: can.Parameters(c.pid), bundled: can.Parameters(obd.EngineSpeed, c.pid)}
		if !pids.Lookup(c.pid).FixedLength() {
			ch.bundled, ch.alone = ch.single, true
		}
		s.asked = append(s.asked, ch)
	}
	return s
}

// Next is the request to send now, with the count digit where it is proven.
func (s *Schedule) Next(now time.Duration) string {
	s.pace(now)
	s.used = nil
	request := s.choose(now)
	k := s.kinds[request]
	if k == nil {
		k = &kind{request: request}
		s.kinds[request] = k
		if s.can.Count && s.can.Focus != "" && fitsFrame(request) {
			k.lines, k.counted, k.steady, k.guessed = 1, request+"1", countSteady, true
		}
	}
	s.last = k
	k.uses++
	if s.plain > 0 {
		s.plain--
		return k.request
	}
	if s.can.Count && k.steady >= countSteady && k.lines > 0 && k.short < countGiveUp && k.uses%countCheck != 0 {
		return k.counted
	}
	return k.request
}

// fitsFrame tells whether the reply of one ECU to a request of service 01 is one frame of
// ISO 15765-2: seven bytes at most.
func fitsFrame(request string) bool {
	const most = 7
	a := reply.ParseQuestion(request)
	if a.N < 2 || a.Service() != 0x01 {
		return false
	}
	size := 1
	for _, id := range a.Items() {
		p := pids.Lookup(id)
		if !p.FixedLength() {
			return false
		}
		size += 1 + p.MaxLen
	}
	return size <= most
}

// pace learns how fast the link is.
func (s *Schedule) pace(now time.Duration) {
	gap := now - s.before
	switch {
	case s.before == 0:
	case s.usual == 0:
		s.usual = gap
	default:
		s.usual += (gap - s.usual) / 16
	}
	s.before = now
}

// few tells whether the link has too few exchanges to ask for everything: below about 20 a
// second with one parameter each, or 10 with two.
func (s *Schedule) few() bool {
	if s.can.Bundle {
		return s.usual > 100*time.Millisecond
	}
	return s.usual > 50*time.Millisecond
}

func (s *Schedule) choose(now time.Duration) string {
	c := s.mostOverdue(now)
	switch {
	case c == nil:
		return s.speed
	case !s.hasRPM:
		return s.use(c, now).single
	case s.can.Bundle:
		return s.use(c, now).bundled
	case s.since < s.run():
		s.since++
		return s.speed
	}
	s.since = 0
	s.dice = s.dice*1664525 + 1013904223
	return s.use(c, now).single
}

// run is how many requests for engine speed alone stand between two companions: 2, or on a
// slow bus 2 to 4, changing, because readings at even distances hide swings of the same
// beat.
func (s *Schedule) run() int {
	if !s.can.Slow {
		return 2
	}
	return []int{2, 3, 2, 4, 2, 3, 2, 2}[s.dice>>29]
}

func (s *Schedule) use(c *channel, now time.Duration) *channel {
	c.last, c.ever, s.used = now, true, c
	return c
}

// mostOverdue is the companion whose wait is the longest for its period; one never asked
// comes first, in the order of worth. One that shares no reply waits until it is due.
func (s *Schedule) mostOverdue(now time.Duration) *channel {
	var best *channel
	most := -1.0
	few := s.few()
	for i := range s.asked {
		c := &s.asked[i]
		if few && c.spare && (c.group != 'p' || s.foot) || now-c.last < c.pause() {
			continue
		}
		if !c.ever {
			return c
		}
		period := c.period
		if few && c.group == 'l' {
			period = loadWhenFew
		}
		if c.alone && now-c.last < period {
			continue
		}
		if over := float64(now-c.last) / float64(period); over > most {
			best, most = c, over
		}
	}
	return best
}

// pause is how long a parameter that goes unanswered is left out.
func (c *channel) pause() time.Duration {
	if c.missed < missedMost {
		return 0
	}
	return min(missedAgain<<min(c.missed-missedMost, 4), missedPause)
}

// Heard tells whether the last request brought any reply that can be read. Only a silence
// behind an answered request speaks against a parameter: in an outage all are silent.
func (s *Schedule) Heard(ok bool) {
	switch c := s.used; {
	case c == nil:
	case ok:
		c.missed = 0
	case s.heard:
		c.missed++
	}
	s.heard = ok
}

// Uncount leaves the count digit out for some time, when it stood behind the last request and
// "wait" (7F xx 78) was counted as the reply; false when it did not.
func (s *Schedule) Uncount(request string) bool {
	s.plain = countPause
	return s.last != nil && s.last.counted != "" && request == s.last.counted
}

// Starved tells, once, whether some request keeps bringing fewer replies than it did.
func (s *Schedule) Starved() bool {
	for _, k := range s.kinds {
		if k.fewer >= fewerMost {
			k.most, k.fewer = 0, 0
			return true
		}
	}
	return false
}

// Requests are those that it chooses from, without the digit.
func (s *Schedule) Requests() []string {
	out := []string{s.speed}
	for i := range s.asked {
		if c := &s.asked[i]; s.can.Bundle {
			out = append(out, c.bundled)
		} else {
			out = append(out, c.single)
		}
	}
	return out
}

// Answered tells how many reply lines the last request brought; 0 when it went unanswered.
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
