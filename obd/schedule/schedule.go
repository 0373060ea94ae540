// Package schedule chooses what to ask next in a drive: engine speed as often as the link carries,
// between them what decides what may be judged, and side requests to other ECUs. It is pure: what
// came back and when is reported to it.
package schedule

import (
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
)

// loadWhenFew is how often load is wanted on a link of few exchanges: it says under what
// the car was, and decides nothing by the second.
const loadWhenFew = 600 * time.Millisecond

// Schedule chooses what to ask next. It is pure: what came back and when is reported to it.
type Schedule struct {
	can      obd.Capabilities
	asked    []channel
	hasRPM   bool
	speed    string // the request for engine speed alone
	throttle bool   // throttle is asked, so that the pedal may be left out
	since    int    // requests for engine speed alone since the last companion
	before   time.Duration
	usual    time.Duration // between two requests, smoothed; 0 before the first two
	dice     uint32
	kinds    map[string]*kind
	last     *kind
	plain    int      // requests still to go without the count digit
	heard    bool     // the request before brought a reply
	used     *channel // of the last request; nil when it was for engine speed alone
}

type channel struct {
	companion
	single, bundled string // requests, without the count digit
	alone           bool   // shares no reply, so that it costs a reading of engine speed
	last            time.Duration
	ever            bool
	missed          int // times in a row that it went unanswered
}

// A parameter that a car claims and does not answer is left out after so many tries, and tried
// again after a pause that doubles: each costs the adapter's whole wait for a reply.
const (
	missedMost  = 4
	missedAgain = 4 * time.Second
	missedPause = time.Minute // at most
)

// New makes the schedule for a car that supports the given PIDs.
func New(can obd.Capabilities, supported func(pid byte) bool) *Schedule {
	s := &Schedule{can: can, hasRPM: supported(obd.EngineSpeed), speed: can.Parameters(obd.EngineSpeed), dice: 1, kinds: map[string]*kind{}}
	var taken [256]bool
	for _, c := range companions {
		if !supported(c.pid) || c.group != 0 && taken[c.group] {
			continue
		}
		taken[c.group] = true
		s.throttle = s.throttle || c.group == 't'
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

// few reports whether the link has too few exchanges to ask for everything: below about 20 a
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

// sparse is the time between two requests from which engine speed, asked in two of three, is read
// less than 7 times a second.
const sparse = 95 * time.Millisecond

// run is how many requests for engine speed alone stand between two companions: 2, or on a
// slow bus or a slow link 2 to 4, changing, because readings at even distances hide swings of the
// same beat.
func (s *Schedule) run() int {
	if !s.can.Slow && s.usual < sparse {
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
		if few && c.spare && (c.group != 'p' || s.throttle) || now-c.last < c.pause() {
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

// Heard reports whether the last request brought any reply that can be read. Only a silence
// after an answered request speaks against a parameter: in an outage all are silent.
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
