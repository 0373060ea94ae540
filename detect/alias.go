package detect

import "math"

// evenEnough is the spread of the intervals, as a share of their mean, below which a swing
// and its alias fit alike; uneven intervals show which it is (bench).
const evenEnough = 0.12

// aliasHighest is the fastest frequency offered as an alias: beyond it lies no mode of a
// drive line that shudders (trade: 8–25 Hz).
const aliasHighest = 25

// aliases returns hz and what it may be the alias of when read at an even rate: f is seen as
// |f − round(f/rate)·rate|, so rate − hz looks the same, and rate + hz.
func aliases(hz, rate, spread float64) []float64 {
	out := []float64{hz}
	if spread > evenEnough {
		return out
	}
	for _, f := range []float64{rate - hz, rate + hz} {
		if f = math.Round(10*f) / 10; f > hz && f <= aliasHighest {
			out = append(out, f)
		}
	}
	return out
}
