package drivetrain

import (
	"math"
	"math/rand/v2"
)

// misfire is one bad cylinder. Each missing combustion takes the torque of its segment
// from the crankshaft, which then swings back: half-order amplitude 17–26 rpm with the
// clutch locked at 60–150 Nm, single dips of 35–65 rpm (both computed for this project).
type misfire struct {
	rng       *rand.Rand
	share     float64 // of its combustions that fail
	condition func(w *world) float64
	partial   bool // any cylinder, and a part of its torque only
	train     train
	ring      float64 // damping ratio of a drive line that rings long; 0: usual
	mode      mode
	angle     float64 // firing segments turned
	segment   int
	spanner
}

const misfireLoad = 0.42 // load above which a weak spark fails

// misfireWhen says in which share of its usual strength a misfire comes now; one that is not
// in it comes always. Load bands and temperatures are judgement.
var misfireWhen = map[FaultKind]func(w *world) float64{
	FaultLoadMisfire:  func(w *world) float64 { return clamp((w.load-misfireLoad+0.1)/0.2, 0, 1) },
	FaultTrainMisfire: func(w *world) float64 { return clamp((w.load-misfireLoad+0.1)/0.1, 0, 1) },
	FaultRingMisfire:  func(w *world) float64 { return clamp((w.load-misfireLoad+0.1)/0.15, 0, 1) },
	FaultPartMisfire:  func(w *world) float64 { return clamp(min(w.load-0.18, 0.46-w.load)/0.05, 0, 1) },
	FaultColdMisfire:  func(w *world) float64 { return w.coldness() },
	FaultColdRough:    func(w *world) float64 { return w.coldness() },
}

func newMisfire(f Fault, c *Car, rng *rand.Rand) *misfire {
	m := &misfire{rng: rng, condition: misfireWhen[f.Kind], train: train{comes: f.Kind == FaultTrainMisfire}}
	if f.Kind == FaultRingMisfire {
		m.ring = within(rng, 0.1, 0.22) // judgement: 0.03 to 0.1 of the bare shafts, and what mounts take
	}
	kind, low, high := SpanMisfire, 0.3, 1.0
	if f.Kind == FaultColdRough {
		m.partial, kind, low, high = true, SpanColdRough, 0.08, 0.3
	}
	m.share = or(f.MissShare, rng, low, high)
	m.angle = rng.Float64() * float64(c.Cylinders)
	m.spanner = spanner{kind: kind, gap: 3}
	return m
}

// train lets a misfire come in trains of a few tenths of a second, as a weak coil does
// (judgement).
type train struct {
	comes bool // else it misfires without trains
	off   bool
	left  float64 // seconds
}

func (t *train) step(r *rand.Rand) {
	if !t.comes {
		return
	}
	if t.left -= slowDT; t.left <= 0 {
		t.off = !t.off
		t.left = within(r, 0.15, 0.5)
		if t.off {
			t.left = within(r, 0.15, 1)
		}
	}
}

func (m *misfire) slow(w *world) {
	m.train.step(m.rng)
	w.fitCrank(&m.mode)
	if m.ring > 0 && w.tied() {
		// Softer shafts and mounts: half of the usual frequency.
		m.mode.set(w.car.ShuffleHz(float64(w.ratio))/2, m.ring, 2*m.mode.inertia)
	}
	m.tick(w)
}

func (m *misfire) fast(w *world) float64 {
	if w.running {
		m.angle += FiringHz(w.rpm, w.car.Cylinders) * fastDT
		for ; float64(m.segment) < m.angle; m.segment++ {
			if (m.partial || m.segment%w.car.Cylinders == 0) && m.fails(w) {
				indicated := max(w.torque, 0) + 0.7*w.car.drag(w.rpm)
				if m.partial {
					indicated *= within(m.rng, 0.15, 0.6)
				}
				m.mode.kick(-w.car.MisfireDipRPM(indicated, max(w.rpm, 500), m.mode.inertia))
				m.alive(w)
				if !m.partial && w.misfires < math.MaxUint16 {
					w.misfires++
				}
			}
		}
	}
	n := m.mode.step()
	m.see(n)
	return n
}

func (m *misfire) fails(w *world) bool {
	share := m.share
	if w.engine.cut || m.train.off {
		return false
	}
	if m.condition != nil {
		share *= m.condition(w)
	}
	return share > 0 && m.rng.Float64() < share
}
