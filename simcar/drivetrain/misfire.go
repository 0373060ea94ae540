package drivetrain

import (
	"math/rand/v2"
)

// misfire is one bad cylinder. Each missing combustion takes the torque of its segment
// from the crankshaft, which then swings back: half-order amplitude 17–26 rpm with the
// clutch locked at 60–150 Nm, single dips of 35–65 rpm (both computed for this project).
type misfire struct {
	rng       *rand.Rand
	share     float64 // of its combustions that fail
	underLoad bool
	mode      mode
	angle     float64 // firing segments turned
	segment   int
	spanner
}

const misfireLoad = 0.42 // load above which a weak spark fails

func newMisfire(f Fault, c *Car, rng *rand.Rand) *misfire {
	m := &misfire{rng: rng, underLoad: f.Kind == FaultLoadMisfire}
	m.share = or(f.MissShare, rng, 0.3, 1)
	m.angle = rng.Float64() * float64(c.Cylinders)
	m.spanner = spanner{kind: SpanMisfire, gap: 3}
	return m
}

func (m *misfire) slow(w *world) {
	w.fitCrank(&m.mode)
	m.tick(w)
}

func (m *misfire) fast(w *world) float64 {
	if w.running {
		m.angle += w.rpm / 120 * float64(w.car.Cylinders) * fastDT
		for ; float64(m.segment) < m.angle; m.segment++ {
			if m.segment%w.car.Cylinders == 0 && m.fails(w) {
				indicated := max(w.torque, 0) + 0.7*w.car.drag(w.rpm)
				m.mode.kick(-w.car.MisfireDipRPM(indicated, max(w.rpm, 500), m.mode.inertia))
				m.alive(w)
			}
		}
	}
	n := m.mode.step()
	m.see(n)
	return n
}

func (m *misfire) fails(w *world) bool {
	share := m.share
	if w.engine.cut {
		return false
	}
	if m.underLoad {
		share *= clamp((w.load-misfireLoad+0.1)/0.2, 0, 1)
	}
	return share > 0 && m.rng.Float64() < share
}
