package drivetrain

import "math/rand/v2"

// actKind is what the driver is about.
type actKind int

const (
	actDrive   actKind = iota // reach a speed and hold it
	actStop                   // brake to standstill and wait
	actPark                   // stand in park, perhaps revving
	actOverrun                // lift the foot until the speed has fallen
	actNeutral                // the same with the gearbox in neutral
)

// act is one piece of a drive.
type act struct {
	kind    actKind
	kmh     float64
	seconds float64 // of holding, waiting or standing, after the speed is reached
	accel   float64 // m/s², also used for slowing down
	steady  bool    // a foot that tries to keep still
	cruise  bool    // cruise control holds the speed
	jab     float64 // pedal steps of this size (0..1) now and then: tip-in
	stop    StopKind
	revs    bool
	taps    bool // the driver touches the brake in every second shudder
}

// route deals out acts, leg by leg, without end.
type route struct {
	legs  func(r *rand.Rand, leg int) []act
	rng   *rand.Rand
	leg   int
	queue []act
}

func (r *route) next() act {
	for len(r.queue) == 0 {
		r.queue = r.legs(r.rng, r.leg)
		r.leg++
	}
	a := r.queue[0]
	r.queue = r.queue[1:]
	return a
}

func within(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

// stopSeconds draws the length of an automatic stop: median 23.5 s, 5 and 95 % at 3.7
// and 65 s, at most 253 s (measured on 236 automatic stops of open data, see the
// package's tests).
func stopSeconds(r *rand.Rand) float64 {
	return skewed(r, stopMedianS, stopMedianS/stopLowS, stopHighS/stopMedianS, stopLongestS)
}

func steadyDrive(kmh, seconds float64) act {
	return act{kind: actDrive, kmh: kmh, seconds: seconds, accel: 1.1, steady: true}
}

func cityLeg(r *rand.Rand, _ int) []act {
	var list []act
	for range 1 + r.IntN(3) {
		list = append(list, act{kind: actDrive, kmh: within(r, 25, 60),
			seconds: within(r, 2, 25), accel: within(r, 0.9, 2.0)})
	}
	stop := act{kind: actStop, seconds: stopSeconds(r), accel: within(r, 1, 2)}
	if r.Float64() < 0.5 {
		stop.stop = StopAutomatic
	}
	return append(list, stop)
}

func countryLeg(r *rand.Rand, leg int) []act {
	if leg > 0 && r.Float64() < 0.12 {
		return cityLeg(r, leg)
	}
	return []act{{kind: actDrive, kmh: within(r, 50, 105), seconds: within(r, 10, 60),
		accel: within(r, 0.6, 1.6), steady: r.Float64() < 0.35}}
}

func highwayLeg(r *rand.Rand, leg int) []act {
	if leg == 0 {
		return []act{{kind: actDrive, kmh: 60, seconds: 10, accel: 1.4}}
	}
	return []act{{kind: actDrive, kmh: within(r, 88, 128), seconds: within(r, 30, 120),
		accel: within(r, 0.4, 1.2), steady: r.Float64() < 0.5}}
}

// roadTestLeg is a drivability technician's round: warm-up, town with two automatic
// stops, then passes at cruise. Every later round skips the warm-up, and tries what a technician
// does: the brake is touched in every second shudder, and the last pass ends in a neutral coast.
func roadTestLeg(r *rand.Rand, leg int) []act {
	var list []act
	if leg == 0 {
		list = append(list, act{kind: actPark, seconds: 8})
	}
	for range 2 {
		list = append(list,
			act{kind: actDrive, kmh: within(r, 38, 50), seconds: within(r, 6, 10), accel: 1.5},
			act{kind: actStop, seconds: within(r, 8, 14), accel: 1.6, stop: StopAutomatic})
	}
	for range 4 {
		cruise := within(r, 64, 84)
		hold := steadyDrive(cruise, within(r, 22, 32))
		hold.taps = leg > 0
		list = append(list, hold, act{kind: actOverrun, kmh: cruise - within(r, 18, 26), accel: 1})
	}
	if leg > 0 {
		list[len(list)-1].kind = actNeutral
	}
	return append(list, steadyDrive(within(r, 85, 100), 20))
}

// cruiseLeg is mostly steady cruise in the band where shudder shows, between short
// stretches of town.
func cruiseLeg(r *rand.Rand, leg int) []act {
	if leg == 0 || r.Float64() < 0.15 {
		return []act{{kind: actDrive, kmh: within(r, 35, 50), seconds: within(r, 8, 20), accel: 1.4},
			{kind: actStop, seconds: within(r, 4, 20), accel: 1.4}}
	}
	return []act{steadyDrive(within(r, 55, 95), within(r, 20, 60))}
}

func tipInLeg(r *rand.Rand, leg int) []act {
	list := cruiseLeg(r, leg)
	for i := range list {
		list[i].jab = within(r, 0.08, 0.25)
	}
	return list
}

func hillLeg(r *rand.Rand, leg int) []act {
	a := steadyDrive(within(r, 65, 105), within(r, 40, 120))
	a.cruise = leg > 0
	return []act{a}
}

// gradeLeg is hills, half of them under cruise control.
func gradeLeg(r *rand.Rand, leg int) []act {
	a := steadyDrive(within(r, 55, 100), within(r, 30, 90))
	a.cruise = leg > 0 && r.Float64() < 0.5
	return []act{a}
}

func parkLeg(r *rand.Rand, _ int) []act {
	return []act{{kind: actPark, seconds: within(r, 20, 60), revs: true},
		{kind: actPark, seconds: within(r, 5, 30)}}
}

func stallLeg(r *rand.Rand, leg int) []act {
	list := cityLeg(r, leg)
	if r.Float64() < 0.6 {
		list[len(list)-1].stop = StopStall
	}
	return list
}

func rollingLeg(r *rand.Rand, leg int) []act {
	list := cityLeg(r, leg)
	list[len(list)-1].stop = StopRolling
	return list
}

func overrunLeg(r *rand.Rand, _ int) []act {
	kmh := within(r, 65, 105)
	return []act{
		{kind: actDrive, kmh: kmh, seconds: within(r, 5, 15), accel: 1.2, steady: true},
		{kind: actOverrun, kmh: kmh - within(r, 20, 40), accel: 1}}
}

func coldLeg(r *rand.Rand, leg int) []act {
	if leg == 0 {
		return []act{{kind: actPark, seconds: 25}}
	}
	return countryLeg(r, leg)
}
