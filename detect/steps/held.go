package steps

import "math"

// held is how long each ratio of engine to road speed was driven with the throttle open, in cells of
// 2 % of ln(rpm for each km/h).
type held struct {
	seconds [heldCells]float32
}

const (
	heldFromKMH = 20
	heldCell    = 0.02
	heldLow     = 1.5 // ln 4.5 rpm for each km/h
	heldCells   = 200
	heldLeast   = 5.0 // s that make a ratio one of the car's (chosen)
)

func heldIndex(ratio float64) int { return int((math.Log(ratio) - heldLow) / heldCell) }

func (h *held) add(ratio, seconds float64) {
	if i := heldIndex(ratio); i >= 0 && i < heldCells {
		h.seconds[i] += float32(seconds)
	}
}

// around is how long a ratio was held to about 3 %.
func (h *held) around(i int) (sum float32) {
	for j := max(i-1, 0); j <= min(i+1, heldCells-1); j++ {
		sum += h.seconds[j]
	}
	return sum
}

// A car without fixed gears is driven everywhere in its range: e to the entropy of the time in each
// cell is above placesMost (simulated drives of twenty minutes: 3 to 24 with fixed gears, 38 to 64
// without).
const (
	placesMost = 30
	placesOver = 60 // s of driving from which it is known
)

// everywhere reports whether the car keeps to no few ratios.
func (h *held) everywhere() bool {
	sum, entropy := 0.0, 0.0
	for _, s := range h.seconds {
		if s > 0 {
			sum += float64(s)
			entropy -= float64(s) * math.Log(float64(s))
		}
	}
	return sum >= placesOver && math.Exp(entropy/sum+math.Log(sum)) > placesMost
}

// near reports whether a ratio was held.
func (h *held) near(ratio float64) bool { return h.around(heldIndex(ratio)) >= heldLeast }

// lowest is the lowest ratio that was held, rpm for each km/h; 0 before there is one.
func (h *held) lowest() float64 {
	for i := range heldCells {
		if h.around(i) >= heldLeast {
			return math.Exp(heldLow + heldCell*float64(i))
		}
	}
	return 0
}
