package drivetrain

import (
	"math"
	"math/rand/v2"
)

// Gearbox is the kind of transmission.
type Gearbox int

// The kinds of transmission.
const (
	Automatic  Gearbox = iota // converter, lock-up clutch, fixed gears
	Manual                    // friction clutch, fixed gears
	Belt                      // converter, then a ratio without steps
	PowerSplit                // hybrid: engine speed not tied to road speed
)

// Car is what differs from car to car.
type Car struct {
	Gearbox     Gearbox
	Ratios      []float64 // first gear first
	FinalDrive  float64
	TyreRadiusM float64 // dynamic rolling radius
	MassKg      float64
	DragAreaM2  float64 // drag coefficient × frontal area
	Diesel      bool
	Cylinders   int
	MaxTorqueNm float64
	IdleRPM     float64 // warm
	StopStart   bool
	FuelPct     float64
	ClosedPct   float64 // throttle position with the pedal at rest
	InertiaKgM2 float64 // crankshaft, flywheel, impeller
	ShuffleDamp float64 // damping ratio of the locked drive line
	Foot        float64 // restlessness of the driver's foot, 1: usual
	Control
	Scatter
}

// Control is how the gearbox is worked.
type Control struct {
	LockGear     int     // lowest gear in which the clutch applies
	LockFromC    float64 // coolant from which the clutch applies; 0: 54 °C
	SlipRPM      float64 // slip that the clutch is held at; 0: locked
	ShiftSeconds float64
	HoldSeconds  float64 // belt, power split: about how long a ratio is held; 0: it is never held
}

// Scatter is how unevenly a car's engine speed runs.
type Scatter struct {
	QuickRPM  float64 // s.d. of the quick part
	WanderRPM float64 // s.d. of the slow part
	ColdShare float64 // share by which both are larger when stone cold
}

// Inertia of engine and impeller: 0.285 kg m², converted from the published four-speed
// example ("Modeling an Automatic Transmission Controller"); turbine with half of the
// fluid: 0.056 kg m² (public national-laboratory vehicle model, TX_AUTO4_IDEAL).
const (
	engineInertia  = 0.285
	turbineInertia = 0.056
	wheelInertia   = 1.0 // each, kg m²; common practice, no source
	axleStiffness  = 10000.0
)

// DrawCar returns a car drawn from the seed: an automatic of four to ten gears, petrol or
// diesel. The spread of each figure is common practice, no source, except where a
// constant says otherwise.
func DrawCar(seed uint64) Car {
	r := rand.New(rand.NewPCG(seed, streamCar))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	c := Car{
		TyreRadiusM: between(0.295, 0.36),
		MassKg:      between(1200, 2100),
		DragAreaM2:  between(0.58, 0.85),
		Diesel:      r.Float64() < 0.3,
		StopStart:   r.Float64() < 0.5,
		IdleRPM:     math.Round(between(620, 800)),
		Control:     Control{ShiftSeconds: between(0.25, 0.6)},
		FuelPct:     between(20, 95),
		ClosedPct:   between(12, 17),
		InertiaKgM2: engineInertia * between(0.85, 1.15),
		ShuffleDamp: between(0.07, 0.12),
		Scatter:     Scatter{QuickRPM: between(0.8, 4.2), WanderRPM: between(8.5, 21)},
		Foot:        between(0.7, 1.5),
	}
	c.Cylinders = []int{4, 4, 4, 3, 6, 8}[r.IntN(6)]
	c.MaxTorqueNm = between(0.105, 0.14) * c.MassKg
	gears := []int{4, 4, 5, 6, 6, 6, 8, 8, 9, 10}[r.IntN(10)]
	c.fitGears(gears, between(-1, 1))
	c.LockGear = 3
	if gears >= 6 && r.Float64() < 0.5 {
		c.LockGear = 2
	}
	if gears >= 5 && r.Float64() < 0.35 {
		c.SlipRPM = between(15, 45)
	}
	return c
}

// fitGears spreads gears from a pulling first to a long top gear that gives 1500 to 1900
// rpm at 80 km/h (diesel a tenth less); taste runs from -1 (long) to 1 (short).
func (c *Car) fitGears(gears int, taste float64) {
	first := 2.75 + 0.3*float64(gears-4)
	top := 0.72 - 0.01*float64(gears-4)
	c.Ratios = make([]float64, gears)
	for g := range c.Ratios {
		x := float64(g) / float64(gears-1)
		x = 1.25*x - 0.25*x*x // steps grow smaller upwards
		c.Ratios[g] = first * math.Pow(top/first, x)
	}
	at80 := 1700 + 180*taste
	if c.Diesel {
		at80 *= 0.9
	}
	wheel := 80 / 3.6 / c.TyreRadiusM * 60 / (2 * math.Pi)
	c.FinalDrive = at80 / wheel / c.Ratios[gears-1]
}

// turnsPerMS is the wheel speed in rpm at one metre a second.
func (c *Car) turnsPerMS() float64 { return 60 / (2 * math.Pi * c.TyreRadiusM) }

func (c *Car) overall(gear int) float64 {
	if gear < 1 || gear > len(c.Ratios) {
		return 0
	}
	return c.Ratios[gear-1] * c.FinalDrive
}

// displacementL follows from torque: about 95 Nm a litre without a charger, 170 with one
// (common practice, no source).
func (c *Car) displacementL() float64 {
	if c.Diesel {
		return c.MaxTorqueNm / 170
	}
	return c.MaxTorqueNm / 95
}

// ShuffleHz returns the frequency at which engine and car swing against each other through
// the shafts, the clutch locked, at an overall ratio:
// f = √(k (1/J₁ + 1/J₂)) / 2π, k = k_axle/i², J₁ engine with turbine, J₂ the car at the
// gearbox input. Shaft stiffness about 10 000 Nm/rad at the axle (from memory: HSCC 2012
// power-train benchmark).
func (c *Car) ShuffleHz(overall float64) float64 {
	k := axleStiffness / (overall * overall)
	car := (c.MassKg*c.TyreRadiusM*c.TyreRadiusM + 4*wheelInertia) / (overall * overall)
	engine := c.InertiaKgM2 + turbineInertia
	return math.Sqrt(k*(1/engine+1/car)) / (2 * math.Pi)
}

// MisfireDipRPM returns by how much one missing combustion lowers engine speed at once:
// the torque of one firing segment, 4π/n of crank angle, taken from the inertia.
func (c *Car) MisfireDipRPM(indicatedNm, rpm, inertia float64) float64 {
	w := rpm * math.Pi / 30
	return indicatedNm * 4 * math.Pi / float64(c.Cylinders) / (w * inertia) * 30 / math.Pi
}
