package simcar

import (
	"encoding/binary"
	"time"
)

// broadcast is one message that an ECU repeats.
type broadcast struct {
	id    uint16
	every time.Duration
	fill  func(data []byte, c *Condition, count uint64) // eight bytes, zero before
}

const (
	hertz100 = 10 * time.Millisecond
	hertz50  = 20 * time.Millisecond
	hertz20  = 50 * time.Millisecond
	hertz10  = 100 * time.Millisecond
	hertz2   = 500 * time.Millisecond
)

// broadcasts are the messages of the simulated car: a make of its own. The rates are those of common
// practice, no source: what moves comes 50 to 100 times a second, what is shown twice.
var broadcasts = []broadcast{
	{0x0A4, hertz100, engineMessage}, {0x0A6, hertz100, torqueMessage}, {0x0B1, hertz50, pedalMessage},
	{0x12C, hertz50, wheelMessage}, {0x12E, hertz50, wheelMessage}, {0x153, hertz50, roadMessage},
	{0x1D0, hertz100, countMessage}, {0x1D5, hertz50, countMessage}, {0x1F2, hertz50, gearMessage},
	{0x21A, hertz20, countMessage}, {0x21B, hertz20, countMessage}, {0x24F, hertz20, countMessage}, {0x288, hertz20, roadMessage},
	{0x2D3, hertz20, countMessage}, {0x305, hertz20, countMessage}, {0x316, hertz20, engineMessage}, {0x329, hertz20, warmMessage},
	{0x340, hertz10, countMessage}, {0x362, hertz10, countMessage}, {0x381, hertz10, countMessage}, {0x3B7, hertz10, countMessage},
	{0x3E9, hertz10, warmMessage}, {0x420, hertz10, warmMessage}, {0x43C, hertz10, countMessage}, {0x4F1, hertz10, countMessage},
	{0x510, hertz2, countMessage}, {0x52A, hertz2, countMessage}, {0x545, hertz2, warmMessage}, {0x5A0, hertz2, countMessage},
	{0x5D7, hertz2, countMessage}, {0x613, hertz2, warmMessage}, {0x6B8, hertz2, countMessage},
}

func put16(data []byte, v float64) { binary.BigEndian.PutUint16(data, uint16(min(max(v, 0), 0xFFFF))) }

func engineMessage(data []byte, c *Condition, count uint64) {
	data[0] = byte(count)
	put16(data[1:], 4*c.RPM)
	put16(data[3:], 100*c.ThrottlePct)
}

func torqueMessage(data []byte, c *Condition, count uint64) {
	put16(data, 100+10*c.TorquePct)
	put16(data[2:], 100+10*c.DemandTorquePct)
	data[7] = byte(count)
}

func pedalMessage(data []byte, c *Condition, _ uint64) {
	put16(data[4:], 100*c.PedalPct)
	put16(data[6:], 100*c.RelPedalPct)
}

func wheelMessage(data []byte, c *Condition, count uint64) {
	for i := 0; i < 8; i += 2 {
		put16(data[i:], 100*c.SpeedKMH+float64((count+uint64(i))%3))
	}
}

func roadMessage(data []byte, c *Condition, count uint64) {
	put16(data[2:], 100*c.SpeedKMH)
	data[7] = byte(count)
}

func gearMessage(data []byte, c *Condition, _ uint64) {
	data[0] = byte(c.Gear)
	put16(data[2:], 1000*c.GearRatio)
}

func warmMessage(data []byte, c *Condition, _ uint64) {
	data[0], data[1] = byte(c.CoolantC+40), byte(c.IntakeC+40)
	data[2] = byte(2.55 * c.FuelLevelPct)
}

func countMessage(data []byte, _ *Condition, count uint64) { binary.BigEndian.PutUint64(data, count) }

// ownTraffic is the traffic of a simulated car.
type ownTraffic struct {
	car      Car
	extended bool
}

// Broadcasts is the traffic of a simulated car: what its ECUs repeat, some of it measured. extended
// puts it on 29-bit ids.
func Broadcasts(car Car, extended bool) Traffic { return ownTraffic{car, extended} }

// apart is how far the messages are apart that would come at the same time: a little more than a
// frame takes at 500 kbit/s.
const apart = 290 * time.Microsecond

func (o ownTraffic) From(t time.Duration) func() (BusFrame, bool) {
	due := make([]time.Duration, len(broadcasts))
	for i, b := range broadcasts {
		phase := time.Duration(i) * apart
		turns := max(0, (t-phase+b.every-1)/b.every)
		due[i] = phase + turns*b.every
	}
	data := make([]byte, 8)
	return func() (BusFrame, bool) {
		first := 0
		for i := range due {
			if due[i] < due[first] {
				first = i
			}
		}
		b, at := &broadcasts[first], due[first]
		due[first] += b.every
		clear(data)
		c := o.car.At(at)
		b.fill(data, &c, uint64(at/b.every))
		id := uint32(b.id)
		if o.extended {
			id = 0x0C000021 | id<<8
		}
		return BusFrame{At: at, ID: id, Extended: o.extended, Data: data}, true
	}
}
