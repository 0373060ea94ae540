package bench

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/judder-obd/judder/pids"
)

// Log reads a drive of lines "time_s,signal,value"; other lines that begin with # and the
// heading are passed over.
func Log(r io.Reader) ([]pids.Sample, error) {
	var out []pids.Sample
	in := bufio.NewScanner(r)
	for n := 1; in.Scan(); n++ {
		p := strings.Split(in.Text(), ",")
		if p[0] == "time_s" || strings.HasPrefix(p[0], "#") || in.Text() == "" {
			continue
		}
		if len(p) != 3 {
			return nil, fmt.Errorf("bench: line %d: want time_s,signal,value, got %q", n, in.Text())
		}
		t, err := strconv.ParseFloat(p[0], 64)
		if err != nil {
			return nil, fmt.Errorf("bench: line %d: time: %w", n, err)
		}
		v, err := strconv.ParseFloat(p[2], 64)
		if err != nil {
			return nil, fmt.Errorf("bench: line %d: value: %w", n, err)
		}
		out = append(out, pids.Sample{At: time.Duration(t * 1e9), ECU: "7E8", Signal: pids.Signal(p[1]), Value: v})
	}
	return out, in.Err()
}

// Thin reads a log of a fine drive again at a rate: engine speed as last told at uneven
// times, everything else as it came.
func Thin(log []pids.Sample, rate float64, seed uint64) []pids.Sample {
	r := rand.New(rand.NewPCG(seed, 5))
	var out []pids.Sample
	next := 0.0
	for _, s := range log {
		if s.Signal == pids.RPM {
			if s.At.Seconds() < next {
				continue
			}
			next = max(next, s.At.Seconds()-0.5/rate) + (0.9+0.2*r.Float64())/rate
		}
		out = append(out, s)
	}
	return out
}

// Repeat plays a log several times over, so that a short one leaves floors time to learn.
func Repeat(log []pids.Sample, times int) []pids.Sample {
	if len(log) == 0 {
		return nil
	}
	var out []pids.Sample
	length := log[len(log)-1].At + 50*time.Millisecond
	for i := range times {
		for _, s := range log {
			s.At += time.Duration(i) * length
			out = append(out, s)
		}
	}
	return out
}

// Swings adds a swing of a size to the engine speed from one time to another, a sine or a
// saw, with ends of a quarter second.
func Swings(log []pids.Sample, from, to, hz, peakToPeak float64, saw bool) []pids.Sample {
	out := slices.Clone(log)
	for i, s := range out {
		t := s.At.Seconds()
		if s.Signal != pids.RPM || t < from || t > to {
			continue
		}
		turn := hz * (t - from)
		shape := math.Sin(2 * math.Pi * turn)
		if saw {
			shape = 1 - 2*(turn-math.Floor(turn))
		}
		out[i].Value += peakToPeak / 2 * shape * min(1, (t-from)/0.25, (to-t)/0.25)
	}
	return out
}
