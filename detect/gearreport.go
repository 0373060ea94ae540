package detect

import "math"

// gearReport is the gear as the car reports it.
type gearReport struct {
	gear          float64
	sinceT, readT float64 // s: this gear is reported since, and was last
	reported      bool
}

// gearFresh is how old, s, a reading of the gear may be: it is read once a second.
const gearFresh = 3

func (g *gearReport) take(t, gear float64) {
	gear = math.Round(gear)
	if gear < 1 {
		return // neutral, or a gearbox without gears
	}
	if !g.reported || gear != g.gear || t-g.readT > gearFresh {
		g.sinceT = t
	}
	g.reported, g.gear, g.readT = true, gear, t
}

// held reports whether the car reported one gear from one time to another.
func (g *gearReport) held(from, to float64) bool {
	return g.reported && g.sinceT <= from && to-g.readT <= gearFresh
}
