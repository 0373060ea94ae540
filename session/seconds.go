package session

import (
	"math"
	"time"

	"github.com/judder-obd/judder/pids"
)

// seconds is what was read in each second of a drive, so that a stretch can be looked at after it is
// known to be an event.
type seconds struct {
	all     []second
	trim    pids.Signal // the fuel trim that is followed
	gear    int         // reported last
	geared  bool        // some gear was reported
	changes []time.Duration
}

// second is one second: 24 bytes, 86 kB an hour.
type second struct {
	rpm, trim         float32 // sums
	trimLow, trimHigh float32
	rpms, trims       uint16
	gear              int8 // reported last in it; 0 for none
}

// secondsMost is how many seconds are kept: a day. Beyond it nothing more is known of them.
const secondsMost = 24 * 3600

// Short-term fuel trims by their SAE J1979 names, of one bank or the other.
const (
	shortTrim1 pids.Signal = "SHRTFT1"
	shortTrim2 pids.Signal = "SHRTFT2"
)

func (s *seconds) take(x *pids.Sample) {
	n := int(x.At / time.Second)
	if n < 0 || n >= secondsMost || math.IsNaN(x.Value) {
		return
	}
	switch x.Signal {
	case pids.RPM:
		c := s.at(n)
		c.rpm += float32(x.Value)
		c.rpms++
	case pids.GearAct:
		s.takeGear(x, n)
	case shortTrim1, shortTrim2:
		if s.trim == "" {
			s.trim = x.Signal
		}
		if s.trim == x.Signal {
			s.at(n).takeTrim(float32(x.Value))
		}
	}
}

func (s *seconds) at(n int) *second {
	for len(s.all) <= n {
		s.all = append(s.all, second{})
	}
	return &s.all[n]
}

func (c *second) takeTrim(v float32) {
	if c.trims == 0 {
		c.trimLow, c.trimHigh = v, v
	}
	c.trim += v
	c.trims++
	c.trimLow, c.trimHigh = min(c.trimLow, v), max(c.trimHigh, v)
}

func (s *seconds) takeGear(x *pids.Sample, n int) {
	g := int(x.Value)
	if g < 1 || g > math.MaxInt8 {
		return
	}
	if s.geared && g != s.gear {
		s.changes = append(s.changes, x.At)
	}
	s.geared, s.gear = true, g
	s.at(n).gear = int8(g)
}

// span are the seconds that lie in a stretch, whole or in part.
func (s *seconds) span(start, end time.Duration) []second {
	from, to := max(int(start/time.Second), 0), int(end/time.Second)+1
	from, to = min(from, len(s.all)), min(to, len(s.all))
	return s.all[from:max(from, to)]
}

// engine is the mean engine speed in a stretch, the readings a second, and the gear reported; zero
// where they are not known.
func (s *seconds) engine(start, end time.Duration) (rpm, rate float64, gear int) {
	all := s.span(start, end)
	n := 0
	for i := range all {
		rpm += float64(all[i].rpm)
		n += int(all[i].rpms)
		if gear == 0 {
			gear = int(all[i].gear)
		}
	}
	if n == 0 {
		return 0, 0, gear
	}
	return rpm / float64(n), float64(n) / float64(len(all)), gear
}

// trimIn is the mean of the fuel trim in a stretch, how far it moved, and how often it was read.
func (s *seconds) trimIn(start, end time.Duration) (mean, moved float64, n int) {
	low, high := float32(math.Inf(1)), float32(math.Inf(-1))
	for _, c := range s.span(start, end) {
		if c.trims == 0 {
			continue
		}
		mean += float64(c.trim)
		n += int(c.trims)
		low, high = min(low, c.trimLow), max(high, c.trimHigh)
	}
	if n == 0 {
		return 0, 0, 0
	}
	return mean / float64(n), float64(high - low), n
}
