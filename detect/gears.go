package detect

import "math"

// gears is where in ln(engine speed ÷ road speed) the car was driven while the engine pulled. A
// gearbox of fixed gears keeps to a few places; a belt gearbox or a power split is everywhere, also
// one that holds its ratio for a while.
type gears struct {
	count [gearCells]uint32
	n     uint32
}

// A cell is 2 % wide, as whole km/h and a converter that slips a little want it; they begin at ln
// 4.5 rpm for each km/h.
const (
	gearCell  = 0.02
	gearLow   = 1.5
	gearCells = 200
)

func (g *gears) add(ratio float64) {
	if i := int((math.Log(ratio) - gearLow) / gearCell); i >= 0 && i < gearCells {
		g.count[i]++
		g.n++
	}
}

// places is how many cells the car was in, were it equally long in each: e to the entropy.
func (g *gears) places() float64 {
	entropy := 0.0
	for _, c := range g.count {
		if c > 0 {
			p := float64(c) / float64(g.n)
			entropy -= p * math.Log(p)
		}
	}
	return math.Exp(entropy)
}

// countGears adds a look at the ratio while the engine pulls at speed.
func (r *conditions) countGears(t, medianRPM float64, th *Tuning) {
	if v, ok := r.speed.Last(); ok && t-v.T <= th.Settle && v.V >= CruiseFromKMH && medianRPM > runsRPM && !r.closed(t, th) {
		r.gears.add(medianRPM / v.V)
	}
}
