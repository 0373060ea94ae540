package bench

import (
	"math"
	"math/rand/v2"
)

// Kind names a script of the formula world.
type Kind string

// The scripts of the formula world.
const (
	Bursts       Kind = "bursts"       // shudder in some cruises
	SawBursts    Kind = "saw bursts"   // lets go at once, grabs slowly
	ShortBursts  Kind = "short bursts" // under three cycles
	BigBursts    Kind = "big bursts"   // up to 600 rpm
	DriftBursts  Kind = "drift bursts" // 1 to 6 Hz, growing and fading slowly
	HillBursts   Kind = "hill bursts"  // up and down grades
	ColdBursts   Kind = "cold bursts"  // from a cold start on
	AlwaysOn     Kind = "always on"    // shudder in every cruise
	Healthy      Kind = "healthy"
	City         Kind = "city"
	Cold         Kind = "cold"  // healthy, rough until warm
	Hills        Kind = "hills" // healthy
	Lash         Kind = "lash"  // single blows in cruise
	Misfire      Kind = "misfire"
	LoadMisfire  Kind = "load misfire" // only under load
	PartMisfire  Kind = "part-load misfire"
	ColdMisfire  Kind = "cold misfire"
	HillMisfire  Kind = "hill misfire"      // only on the climbs
	TrainMisfire Kind = "misfire in trains" // on the climbs, a few in a row, then none
	RingMisfire  Kind = "ringing misfire"   // on the climbs, the drive line answers at 2.5 to 6 Hz
	RoughRoad    Kind = "rough road"
	Surge        Kind = "surge"
	LockCycling  Kind = "lock-up cycling"
	GearHunting  Kind = "gear hunting"
	TipIn        Kind = "tip-in"
	SlipControl  Kind = "slip control"
	BeltHolds    Kind = "belt holds"  // a belt that holds its ratio for a minute or two
	PowerSplit   Kind = "power split" // engine speed follows power
)

const (
	tick   = 0.005
	stepHz = 1 / tick
)

// world is a car by formula: engine speed is ratio × road speed plus named components. It
// has no physics; it exists so that the detector is not fitted to one simulator's shapes.
type world struct {
	r                 *rand.Rand
	n                 int
	rpm, speed, pedal []float64
	load              []float64
	gear              []int8
	startC, warm      float64 // coolant at the start, °C, and the time constant of its warming, s
	hills             float64 // s.d. of road speed that grades make, km/h
	untied            untied
	cruises           [][2]int
	spans             []Span
	quick, wander     float64
	demand            float64
	ratios            []float64
}

func (w *world) between(a, b float64) float64 { return a + (b-a)*w.r.Float64() }

// formulaLength is how long a drive is, s.
const formulaLength = 600

// formula is a laid-out drive of the formula world, ready to be read at any rate.
type formula struct {
	scene Scene
	w     *world
}

func newFormula(s Scene) *formula { return &formula{s, lay(s, formulaLength)} }

func lay(s Scene, length float64) *world {
	w := &world{r: rand.New(rand.NewPCG(s.Seed, 77)), n: int(length * stepHz), startC: 88, warm: 1}
	w.rpm, w.speed, w.pedal, w.load = make([]float64, w.n), make([]float64, w.n), make([]float64, w.n), make([]float64, w.n)
	w.gear = make([]int8, w.n)
	w.quick, w.wander, w.demand = w.between(2, 8), w.between(14, 30), w.between(0.5, 1.6)
	top := w.between(19, 25)
	for g := 0; g < 6; g++ {
		w.ratios = append(w.ratios, top*math.Pow(w.between(1.26, 1.34), float64(5-g)))
	}
	w.conditions(Kind(s.Name))
	w.route(Kind(s.Name) == City)
	w.scatter()
	for i, c := range w.cruises {
		w.happen(Kind(s.Name), i, c, s.Swing)
	}
	return w
}

// conditions of the scripts that are not driven warm, level and in fixed gears.
func (w *world) conditions(kind Kind) {
	switch kind {
	case Cold, ColdBursts, ColdMisfire:
		w.startC, w.warm = w.between(-5, 15), w.between(300, 700)
	case Hills, HillBursts, HillMisfire, TrainMisfire, RingMisfire:
		w.hills = w.between(1, 2.5)
	case BeltHolds:
		w.untied.holds = w.between(40, 150)
	case PowerSplit:
		w.untied.power = true
	}
}

// coolant returns the temperature at a tick, °C.
func (w *world) coolant(i int) float64 {
	return 88 - (88-w.startC)*math.Exp(-float64(i)*tick/w.warm)
}

// coldness falls from 1 at 20 °C to 0 at 60 °C (judgement).
func (w *world) coldness(i int) float64 { return clamp((60-w.coolant(i))/40, 0, 1) }

// route drives: idle, pull away through the gears, cruise, again.
func (w *world) route(city bool) {
	i := 0
	v, gear := 0.0, 0
	pedalNoise, hill := 0.0, 0.0
	put := func(target, pedal, grade float64) {
		pedalNoise += (-pedalNoise/1.5)*tick + 0.9*w.demand*math.Sqrt(2*tick/1.5)*w.r.NormFloat64()
		if w.hills > 0 && target > 0 {
			hill += -hill/9*tick + math.Sqrt(2*tick/9)*w.r.NormFloat64()
			target -= w.hills * hill // a climb slows the car a little and loads its engine
			grade += 14 * hill
			pedal = max(1, pedal+3*hill)
		}
		v += clamp((target-v)*0.3, -8, 7) * tick
		v = max(0, v)
		for gear < 5 && v*w.ratios[gear] > w.shiftUp() {
			gear++
		}
		for gear > 0 && v*w.ratios[gear] < 1250 {
			gear--
		}
		w.speed[i] = v
		w.rpm[i] = max(750, v*w.ratios[gear])
		w.gear[i] = int8(gear + 1)
		if w.untied.any() {
			w.rpm[i], w.gear[i] = w.untied.rpm(w.r, v, pedal+pedalNoise, math.Abs(target-v) < 4), 0
		}
		w.pedal[i] = 14
		if pedal > 0 {
			w.pedal[i] = 14 + max(0, pedal+pedalNoise)
		}
		w.load[i] = clamp(20+pedal*1.5+grade, 5, 95)
		i++
	}
	stretch := func(seconds, target, pedal, grade float64) {
		for k := 0; k < int(seconds*stepHz) && i < w.n; k++ {
			put(target, pedal, grade)
		}
	}
	stretch(w.between(8, 25), 0, 0, 0)
	for i < w.n {
		target := w.between(40, 108)
		if city {
			target = w.between(20, 60)
		}
		for i < w.n && v < target-4 {
			put(target+8, 22+w.r.Float64(), 0)
		}
		pedal := 4 + target/10
		stretch(4, target, pedal, 0)
		from := i
		stretch(w.between(18, 60), target, pedal, 0)
		w.cruises = append(w.cruises, [2]int{from, i})
		stretch(w.between(2, 8), target*w.between(0.1, 0.8), 0, 0)
		if city || w.r.Float64() < 0.3 {
			stretch(w.between(5, 12), 0, 0, 0)
			stretch(w.between(3, 25), 0, 0, 0)
		}
	}
}

func (w *world) shiftUp() float64 { return 2150 }

func clamp(x, a, b float64) float64 { return max(a, min(b, x)) }

// scatter adds a real car's noise: a quick part and a slow wander (4 to 6 and about 10 rpm
// on public drives), and low-pass filters the gear steps as a shift takes.
func (w *world) scatter() {
	q, s1, s2 := 0.0, 0.0, 0.0
	smooth := w.rpm[0]
	for i := range w.rpm {
		smooth += (w.rpm[i] - smooth) * tick / 0.15
		quick := w.quick
		if w.startC < 60 {
			quick *= 1 + 1.2*w.coldness(i)
		}
		q += -q/0.06*tick + quick*math.Sqrt(2*tick/0.06)*w.r.NormFloat64()
		s1 += -s1/1.2*tick + w.wander*math.Sqrt(2*tick/1.2)*w.r.NormFloat64()
		s2 += (s1 - s2) * tick / 0.25
		k := min(1, 0.3+w.speed[i]/50)
		if w.startC < 60 {
			k *= 1 + 0.8*w.coldness(i)
		}
		w.rpm[i] = smooth + q + s2*k
	}
}

// untied is a gearbox without fixed gears.
type untied struct {
	holds       float64 // s, about how long a belt holds its ratio; 0: none
	power       bool    // power split
	ratio, goal float64
	left, phase float64
}

func (u *untied) any() bool { return u.holds > 0 || u.power }

// rpm returns the engine speed at a road speed and a pedal. A belt takes another ratio when it
// has held one long enough, or when the car is not in a steady cruise; the engine of a power
// split follows the power and the battery's charge.
func (u *untied) rpm(r *rand.Rand, v, pedal float64, steady bool) float64 {
	if u.power {
		u.phase += tick
		charge := 90 * (math.Sin(2*math.Pi*u.phase/7.3) + math.Sin(2*math.Pi*u.phase/11.9))
		want := max(1000, 850+14*pedal+6*v+charge)
		u.ratio += (want - u.ratio) * tick / 0.6
		return max(900, u.ratio)
	}
	if u.left -= tick; u.left <= 0 || !steady {
		u.left = u.holds * (0.5 + r.Float64())
		u.goal = (1250 + 22*max(pedal, 0) + 3*v) / max(v, 8)
	}
	if u.ratio == 0 {
		u.ratio = u.goal
	}
	u.ratio += (u.goal - u.ratio) * tick / 0.7
	return max(750, v*u.ratio)
}
