package schedule

import (
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
)

// counters are the misfire counts of each cylinder, which an engine's ECU on CAN gives by service 06
// (SAE J1979). They are read in rounds: at the start, once a minute, and when a shudder is over. Each
// request of a round waits until those before it have cost engine speed next to nothing.
type counters struct {
	list   []SideRequest // the map of monitors, then the cylinders that it has
	known  bool          // the map was read
	wanted bool          // another round, when this one is over
	at     int           // index in list of the request that comes next
	asking bool          // it is under way
	round  time.Duration // when the next round comes by itself
	next   time.Duration // when the next request may come
}

const (
	countShare  = 0.018            // of the time, at most (below 2 %)
	countPeriod = time.Minute      // so that the last reading is near the end of the drive
	countAfter  = 10 * time.Second // after a set-up, so that the link has found its pace
	countTries  = 2                // times that a car is asked which it has
)

// Monitors of misfire (SAE J1979): A0 is the map of A1 to C0, A2 is cylinder 1, AD cylinder 12.
const (
	misfireMap    = 0xA0
	firstCylinder = 0xA2
	lastCylinder  = 0xAD
	testReply     = 0x46
)

// WithCounts adds the misfire counts of an ECU, from some seconds after now on; module is its request
// address, "" for none.
func (s *Side) WithCounts(module string, now time.Duration) *Side {
	if module != "" {
		s.counts.next = now + countAfter
		s.counts.list = []SideRequest{{Module: module, request: obd.Request(0x06, misfireMap)}}
	}
	return s
}

// WantCounts has the misfire counts read as soon as that is cheap.
func (s *Side) WantCounts() { s.counts.wanted = s.counts.known }

// due is the request that may be sent now; nil for none.
func (c *counters) due(now time.Duration) []*SideRequest {
	if c.at == 0 && now < c.round && !c.wanted {
		return nil
	}
	if c.at == 0 {
		c.wanted = false
		if c.known {
			c.at = 1
		}
	}
	for ; c.at < len(c.list); c.at++ {
		if r := &c.list[c.at]; r.refused < refusedMost && (c.at > 0 || r.refused < countTries) {
			if now < c.next {
				return nil
			}
			c.asking = true
			return []*SideRequest{r}
		}
	}
	c.at, c.round = 0, now+countPeriod
	return nil
}

// done books a request.
func (c *counters) done(began, now time.Duration) {
	c.asking = false
	c.at++
	c.next = now + time.Duration(float64(now-began)/countShare)
}

// Heard takes the reply to a side request. Of the counts it is the map that has the cylinders.
func (s *Side) Heard(r *SideRequest, got *reply.Decoded) {
	c := &s.counts
	if len(c.list) == 0 || r != &c.list[0] {
		return
	}
	for i := range got.Messages {
		d := got.Messages[i].Data
		if len(d) < 6 || d[0] != testReply || d[1] != misfireMap {
			continue
		}
		c.known = true
		list := c.list[:1:1]
		for id := byte(firstCylinder); id <= lastCylinder; id++ {
			if n := id - misfireMap - 1; d[2+n/8]&(0x80>>(n%8)) != 0 {
				list = append(list, SideRequest{Module: r.Module, request: obd.Request(0x06, id)})
			}
		}
		c.list = list
		return
	}
}
