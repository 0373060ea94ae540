package bench

import (
	"math"
	"math/rand/v2"
	"time"

	"judder/detect"
	"judder/pids"
)

// Kind names a script of the formula world.
type Kind string

// The scripts: shudder of three sorts, a healthy car, and what looks like shudder.
const (
	Bursts      Kind = "bursts"    // shudder in some cruises
	AlwaysOn    Kind = "always on" // shudder in every cruise
	Healthy     Kind = "healthy"
	City        Kind = "city"
	Misfire     Kind = "misfire"      // always there
	LoadMisfire Kind = "load misfire" // only under load
	RoughRoad   Kind = "rough road"
	Surge       Kind = "surge"
	LockCycling Kind = "lock-up cycling"
	GearHunting Kind = "gear hunting"
	TipIn       Kind = "tip-in"
	SlipControl Kind = "slip control"
)

// LookAlikes are the scripts without shudder.
var LookAlikes = []Kind{Healthy, City, Misfire, LoadMisfire, RoughRoad, Surge, LockCycling, GearHunting, TipIn, SlipControl}

// Span is a stretch of truth.
type Span struct {
	Start, End float64 // s
	SwingRPM   float64
	Hz         float64
	Shudder    bool // else a look-alike
	Counts     bool // shudder at steady demand
	Name       string
}

// Drive is one drive with its truth.
type Drive struct {
	Name    string
	Samples []pids.Sample
	Length  float64
	Spans   []Span
	Stops   []detect.Stop
}

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
	cruises           [][2]int
	spans             []Span
	quick, wander     float64
	demand            float64
	ratios            []float64
}

func (w *world) between(a, b float64) float64 { return a + (b-a)*w.r.Float64() }

// Formula lays out a drive of the formula world.
func Formula(seed uint64, kind Kind, length, swing float64) *World {
	w := &world{r: rand.New(rand.NewPCG(seed, 77)), n: int(length * stepHz)}
	w.rpm, w.speed, w.pedal, w.load = make([]float64, w.n), make([]float64, w.n), make([]float64, w.n), make([]float64, w.n)
	w.quick, w.wander, w.demand = w.between(2, 6), w.between(6, 12), w.between(0.5, 1.6)
	top := w.between(19, 25)
	for g := 0; g < 6; g++ {
		w.ratios = append(w.ratios, top*math.Pow(w.between(1.26, 1.34), float64(5-g)))
	}
	w.route(kind)
	w.scatter()
	for i, c := range w.cruises {
		w.happen(kind, i, c, swing)
	}
	return &World{w, seed, kind}
}

// World is a laid-out drive of the formula world, ready to be read at any rate.
type World struct {
	w    *world
	seed uint64
	kind Kind
}

// route drives: idle, pull away through the gears, cruise, again.
func (w *world) route(kind Kind) {
	i := 0
	v, gear := 0.0, 0
	pedalNoise := 0.0
	put := func(target, pedal, grade float64) {
		pedalNoise += (-pedalNoise/1.5)*tick + 0.9*w.demand*math.Sqrt(2*tick/1.5)*w.r.NormFloat64()
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
		if kind == City {
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
		if kind == City || w.r.Float64() < 0.3 {
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
		q += -q/0.06*tick + w.quick*math.Sqrt(2*tick/0.06)*w.r.NormFloat64()
		s1 += -s1/1.2*tick + w.wander*math.Sqrt(2*tick/1.2)*w.r.NormFloat64()
		s2 += (s1 - s2) * tick / 0.25
		k := min(1, 0.3+w.speed[i]/50)
		w.rpm[i] = smooth + q + s2*k
	}
}

// happen puts the script's event into a cruise.
func (w *world) happen(kind Kind, index int, c [2]int, swing float64) {
	room := float64(c[1]-c[0]) / stepHz
	at := func(from, to float64) (a, b int) {
		length := min(w.between(from, to), room-4)
		start := w.between(1, max(1.5, room-length-1))
		a = c[0] + int(start*stepHz)
		return a, min(w.n, a+int(length*stepHz))
	}
	switch kind {
	case Bursts:
		for range 1 + w.r.IntN(2) {
			if w.r.Float64() < 0.6 {
				a, b := at(1.5, 8)
				if !w.overlaps(a, b) {
					w.shudder(a, b, w.between(50, 170), w.between(1, 6))
				}
			}
		}
	case AlwaysOn:
		w.shudder(c[0]-int(2*stepHz), c[1], swing, w.between(1, 5))
	case Misfire:
		if index == 0 {
			w.misfire(0, w.n, w.between(0.15, 1), false)
		}
	case LoadMisfire:
		a, b := at(4, 25)
		for i := a; i < b; i++ {
			w.load[i] += 25
			w.pedal[i] += 2
		}
		w.misfire(a, b, w.between(0.15, 1), true)
	case RoughRoad:
		a, b := at(3, 20)
		w.rough(a, b)
	case Surge:
		a, b := at(8, 30)
		w.wave(a, b, w.between(40, 140), w.between(0.3, 0.7), 0.1, 0, Span{Name: "surge"})
	case LockCycling:
		w.cycling(c, w.between(3, 9), w.between(60, 250), "lock-up cycling")
	case GearHunting:
		w.cycling(c, w.between(6, 16), w.between(350, 600), "gear hunting")
	case TipIn:
		w.tipIn(c)
	case SlipControl:
		w.wave(c[0], c[1], w.between(15, 40), w.between(0.8, 2.5), 0.5, 0.3, Span{Name: "slip control"})
	}
}

func (w *world) overlaps(a, b int) bool {
	for _, s := range w.spans {
		if float64(a)*tick < s.End+3 && float64(b)*tick > s.Start-3 {
			return true
		}
	}
	return false
}

func (w *world) shudder(a, b int, swing, hz float64) {
	w.wave(a, b, swing, hz, w.between(0, 0.35), w.between(0, 0.8), Span{Name: "shudder", Shudder: true, Counts: true})
}

// wave adds a swing whose frequency drifts (by share drift of itself), whose height grows,
// fades and breathes, and whose shape lies between a sine and a saw.
func (w *world) wave(a, b int, swing, hz, drift, saw float64, s Span) {
	a = max(a, 0)
	phase, f, breath := w.between(0, 2*math.Pi), hz, 0.0
	rise, fall := w.between(0.1, 0.8), w.between(0.2, 1)
	length := float64(b-a) * tick
	top := 0.0 // of the mixed shape, so that the swing is what it says
	for k := range 100 {
		x := float64(k) / 100
		top = max(top, (1-saw)*math.Sin(2*math.Pi*x)+saw*(1-2*x))
	}
	slope := hz * drift * w.between(-1, 1) / max(1, length)
	for i := a; i < b; i++ {
		t := float64(i-a) * tick
		f += slope*tick - (f-hz-slope*t)/1.5*tick + hz*drift*0.4*math.Sqrt(2*tick/1.5)*w.r.NormFloat64()
		f = clamp(f, 0.6*hz, 1.5*hz)
		breath += -breath/0.8*tick + 0.12*math.Sqrt(2*tick/0.8)*w.r.NormFloat64()
		phase += 2 * math.Pi * f * tick
		env := min(1, t/rise, (length-t)/fall) * (1 + breath)
		shape := math.Sin(phase)
		if saw > 0 {
			turn := phase / (2 * math.Pi)
			shape = ((1-saw)*shape + saw*(1-2*(turn-math.Floor(turn)))) / top
		}
		w.rpm[i] += env * swing / 2 * shape
	}
	s.Start, s.End, s.SwingRPM, s.Hz = float64(a)*tick+rise/2, float64(b)*tick-fall/2, swing, hz
	if s.End > s.Start+0.5 {
		w.spans = append(w.spans, s)
	}
}

// misfire takes the torque of single combustions away: each is a dip that comes back.
func (w *world) misfire(a, b int, p float64, load bool) {
	dip := 0.0
	next := 0.0
	depth := w.between(25, 60)
	for i := a; i < b; i++ {
		next -= w.rpm[i] / 120 * tick
		if next <= 0 {
			next++
			if w.r.Float64() < p {
				dip += depth * w.between(0.7, 1.2)
			}
		}
		dip -= dip * tick / 0.06
		k := 1.0
		if !load {
			k = 0.4 + w.load[i]/80
		}
		w.rpm[i] -= dip*k - 0.06*p*depth*w.rpm[i]/120*k
	}
	w.spans = append(w.spans, Span{Start: float64(a) * tick, End: float64(b) * tick, Name: "misfire"})
}

// rough is broadband: a body bounce of 1 to 2 Hz and wheel hop of 10 to 14, both random.
func (w *world) rough(a, b int) {
	var y [2][2]float64
	hz := [2]float64{w.between(1, 2), w.between(10, 14)}
	sd := [2]float64{w.between(2, 6), w.between(5, 15)}
	white := w.between(4, 14)
	q := 0.0
	for i := a; i < b; i++ {
		env := min(1, float64(i-a)*tick/0.5, float64(b-i)*tick/0.5)
		for m := range hz {
			om := 2 * math.Pi * hz[m]
			z := 0.25
			acc := -om*om*y[m][0] - 2*z*om*y[m][1] + math.Sqrt(4*z*om*om*om)*sd[m]*w.r.NormFloat64()/math.Sqrt(tick)
			y[m][1] += acc * tick
			y[m][0] += y[m][1] * tick
		}
		q += -q/0.08*tick + white*math.Sqrt(2*tick/0.08)*w.r.NormFloat64()
		w.rpm[i] += env * (y[0][0] + y[1][0] + q)
		w.speed[i] += env * y[0][0] / 40
	}
	w.spans = append(w.spans, Span{Start: float64(a) * tick, End: float64(b) * tick, Name: "rough road"})
}

func (w *world) cycling(c [2]int, period, step float64, name string) {
	level, goal := 0.0, 0.0
	left := w.between(0.3, 1) * period
	tau := w.between(0.1, 0.4)
	for i := c[0]; i < min(w.n, c[1]+200); i++ {
		if left -= tick; left <= 0 && i < c[1] {
			left = period / 2 * w.between(0.7, 1.3)
			goal = step - goal
		}
		if i >= c[1] {
			goal = 0
		}
		level += (goal - level) * tick / tau
		w.rpm[i] += level
	}
	w.spans = append(w.spans, Span{Start: float64(c[0]) * tick, End: float64(c[1]) * tick, Name: name})
}

func (w *world) tipIn(c [2]int) {
	for i := c[0] + 200; i < c[1]-800; i += int(w.between(5, 12) * stepHz) {
		step, hz, size := w.between(6, 20), w.between(2, 7), w.between(40, 110)
		for k := 0; k < 600 && i+k < w.n; k++ {
			t := float64(k) * tick
			w.pedal[i+k] += step * min(1, t/0.3, (3-t)/0.3)
			w.rpm[i+k] += size * math.Exp(-t/0.4) * math.Sin(2*math.Pi*hz*t)
		}
	}
	w.spans = append(w.spans, Span{Start: float64(c[0]) * tick, End: float64(c[1]) * tick, Name: "tip-in"})
}

// Read reads the drive at a rate, in readings of engine speed a second, through a computer
// that averages and refreshes and a link that jitters and loses.
func (x *World) Read(rate float64) *Drive {
	w := x.w
	r := rand.New(rand.NewPCG(x.seed, 99))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	mean := between(0.02, 0.1)
	refresh := 0.0
	if r.Float64() < 0.5 {
		refresh = between(0.02, 0.11)
	}
	jitter, late := between(0.05, 0.25), between(0.003, 0.03)
	d := &Drive{Name: string(x.kind), Length: float64(w.n) * tick, Spans: w.spans}
	put := func(t float64, s pids.Signal, v float64) {
		d.Samples = append(d.Samples, pids.Sample{At: time.Duration(t * 1e9), ECU: "7E8", Signal: s, Value: v})
	}
	lastPut := 0.0
	for t, i := 0.1, 0; t < d.Length-0.2; i++ {
		ask := t
		if refresh > 0 {
			ask = math.Floor(t/refresh) * refresh
		}
		got := max(lastPut+1e-4, t+math.Abs(late*r.NormFloat64()))
		put(got, pids.RPM, math.Round(4*w.mean(ask, mean))/4)
		k := int(t * stepHz)
		switch i % 3 {
		case 0:
			put(got+1e-5, pids.VSS, math.Floor(w.speed[k]))
		case 1:
			put(got+1e-5, pids.TP, math.Round(w.pedal[k]*2.55)/2.55)
		default:
			put(got+1e-5, pids.LoadPct, math.Round(w.load[k]*2.55)/2.55)
		}
		lastPut = got + 1e-5
		t += max(0.01, (1+jitter*r.NormFloat64())/rate)
		if r.Float64() < 1/(120*rate) {
			t += between(0.5, 3)
		}
	}
	return d
}

// mean returns engine speed averaged over the span that ends at t.
func (w *world) mean(t, over float64) float64 {
	b := int(clamp(t*stepHz, 0, float64(w.n-1)))
	a := max(0, b-int(over*stepHz))
	sum := 0.0
	for i := a; i <= b; i++ {
		sum += w.rpm[i]
	}
	return sum / float64(b-a+1)
}
