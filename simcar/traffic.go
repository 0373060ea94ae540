package simcar

import (
	"bufio"
	"encoding/hex"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
)

// BusFrame is a frame that an ECU puts on the bus by itself.
type BusFrame struct {
	At       time.Duration // drive time
	ID       uint32
	Extended bool   // 29 bits
	Data     []byte // up to eight
}

// Traffic is what ECUs put on the bus unasked.
type Traffic interface {
	// From begins at a drive time; next gives the frames from then on, in order of their times.
	// The bytes are valid until the next call.
	From(t time.Duration) (next func() (f BusFrame, ok bool))
}

// WithTraffic has the ECUs put frames on the bus while the ignition is on.
func WithTraffic(t Traffic) Option { return func(s *Sim) { s.traffic = t } }

// BehindGateway has a gateway keep the traffic from the diagnostic socket. Requests and their
// replies pass.
func BehindGateway() Option { return func(s *Sim) { s.gateway = true } }

// recorded is traffic that was recorded, again and again.
type recorded struct {
	frames []BusFrame
	length time.Duration
}

// Recorded is the traffic of a recording, its frames in order from time 0 on, repeated after length.
func Recorded(frames []BusFrame, length time.Duration) Traffic { return recorded{frames, length} }

func (r recorded) From(t time.Duration) func() (BusFrame, bool) {
	if len(r.frames) == 0 || r.length <= 0 {
		return func() (BusFrame, bool) { return BusFrame{}, false }
	}
	turn := t / r.length
	i, _ := slices.BinarySearchFunc(r.frames, t%r.length, func(f BusFrame, at time.Duration) int { return int(f.At - at) })
	return func() (BusFrame, bool) {
		if i == len(r.frames) {
			i = 0
			turn++
		}
		f := r.frames[i]
		f.At += turn * r.length
		i++
		return f, true
	}
}

// ReadCandump reads frames as the tools of Linux' SocketCAN log them, one a line:
// "(0.000013) can0 2C1#0014DF14BBCA3A91". An id of eight digits has 29 bits. The error has the line.
func ReadCandump(r io.Reader) (frames []BusFrame, err error) {
	lines := bufio.NewScanner(r)
	for n := 1; lines.Scan(); n++ {
		f, err := candumpFrame(lines.Text())
		if err != nil {
			return nil, fmt.Errorf("simcar: candump, line %d: %w", n, err)
		}
		frames = append(frames, f)
	}
	return frames, lines.Err()
}

func candumpFrame(line string) (f BusFrame, err error) {
	parts := strings.Fields(line)
	if len(parts) != 3 {
		return f, fmt.Errorf("%q: want a time, an interface and a frame", line)
	}
	seconds, err := strconv.ParseFloat(strings.Trim(parts[0], "()"), 64)
	if err != nil {
		return f, err
	}
	id, data, _ := strings.Cut(parts[2], "#")
	n, err := strconv.ParseUint(id, 16, 29)
	if err != nil {
		return f, err
	}
	f = BusFrame{At: time.Duration(seconds * float64(time.Second)).Round(time.Microsecond), ID: uint32(n), Extended: len(id) > 3}
	if f.Data, err = hex.DecodeString(data); err == nil && len(f.Data) > 8 {
		err = fmt.Errorf("%q: %d bytes, 8 at most", data, len(f.Data))
	}
	return f, err
}
