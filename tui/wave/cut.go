package wave

import (
	"fmt"
	"time"
)

// pointLike is any value at a time of the drive.
type pointLike interface {
	~struct {
		At    time.Duration
		Value float64
	}
}

// AroundLeast is the least that is drawn before an event and after it.
const AroundLeast = 1500 * time.Millisecond

// Around is the cut of an event, with time before it and after it and without readings. alarmRPM is 0, or
// not a number, where there is no alarm level; hz are the frequencies that the swing may have, the
// likeliest first.
func Around(start, end time.Duration, alarmRPM float64, hz []float64) Cut {
	around := max(AroundLeast, (end-start)/4)
	c := Cut{From: max(start-around, 0), To: end + around, Start: start, End: end}
	if alarmRPM > 0 {
		c.AlarmRPM = alarmRPM
	}
	if len(hz) > 0 {
		c.Hz = hz[0]
	}
	return c
}

// Fill takes the readings of a cut out of those of a drive, and of engine speed what its trend needs.
func Fill[P pointLike](c *Cut, rpm, throttle, speed []P) {
	c.RPM = Between(rpm, c.From-TrendSpan, c.To+TrendSpan)
	c.Throttle, c.Speed = Between(throttle, c.From, c.To), Between(speed, c.From, c.To)
}

// Between are the readings from one time to another.
func Between[P pointLike](points []P, from, to time.Duration) (rs []Reading) {
	for _, p := range points {
		if r := Reading(p); r.At >= from && r.At <= to {
			rs = append(rs, r)
		}
	}
	return rs
}

// Words are what there is to see in the picture of a cut, for who cannot see it.
func (t *Trace) Words(c *Cut, clock func(time.Duration) string) string {
	text := fmt.Sprintf("Engine speed about its own slow trend from %s to %s, in rpm, against time. Throttle and road speed below it.", clock(c.From), clock(c.To))
	for _, s := range t.Steps {
		text += fmt.Sprintf(" Engine speed steps by %+.0f rpm at %s.", s.RPM, clock(s.At))
	}
	return text
}
