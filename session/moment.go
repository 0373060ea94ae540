package session

import (
	"math"
	"time"

	"github.com/judder-obd/judder/session/complaint"
)

// moment is a piece of usable time, about a fifth of a second, and how the car was driven in it.
type moment struct {
	start, end time.Duration
	complaint.Point
	swing float64 // of engine speed, rpm peak to peak; NaN when not measured
	rpm   float64 // engine speed on average; NaN when not read
}

// kept is a moment as it is kept, in 32 bytes: an hour of cruise is 580 kB. Values are rounded to a
// hundredth, the coolant and the swing to a tenth, engine speed to a quarter.
type kept struct {
	end                        time.Duration
	length                     uint32 // ns
	speed, load, throttle, ect uint16
	swing, rpm                 uint16
	gear                       uint8
}

// longestKept is the longest moment that can be kept; a longer one is kept in pieces.
const longestKept = 4 * time.Second

// unread stands for a value that was not read.
const unread = math.MaxUint16

// coldest is the lowest coolant temperature, °C (SAE J1979: -40).
const coldest = -40

func pack(x, step float64) uint16 {
	if math.IsNaN(x) {
		return unread
	}
	return uint16(math.Round(min(max(x/step, 0), unread-1)))
}

func unpack(n uint16, perUnit float64) float64 {
	if n == unread {
		return math.NaN()
	}
	return float64(n) / perUnit
}

// keep makes what is kept of a moment.
func (m *moment) keep() kept {
	return kept{
		end: m.end, length: uint32(m.end - m.start),
		speed: pack(m.SpeedKMH, 0.01), load: pack(m.LoadPct, 0.01), throttle: pack(m.ThrottlePct, 0.01),
		ect: pack(m.CoolantC-coldest, 0.1), swing: pack(m.swing, 0.1), rpm: pack(m.rpm, 0.25), gear: uint8(min(max(m.Gear, 0), math.MaxUint8)),
	}
}

// moment is what was kept.
func (k *kept) moment() moment {
	return moment{k.end - time.Duration(k.length), k.end, complaint.Point{
		SpeedKMH: unpack(k.speed, 100), LoadPct: unpack(k.load, 100), ThrottlePct: unpack(k.throttle, 100),
		CoolantC: unpack(k.ect, 10) + coldest, Gear: int(k.gear),
	}, unpack(k.swing, 10), unpack(k.rpm, 4)}
}
