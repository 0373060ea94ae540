package drivetrain

import "math"

// mode is one torsional mode as a decaying rotation: speed is the deviation of engine
// speed in rpm, wind is the twist of the shafts in the same unit.
type mode struct {
	speed, wind          float64
	cos, sin             float64 // of one fast step, decay included
	hz, damping, inertia float64
}

func (m *mode) set(hz, damping, inertia float64) {
	if hz == m.hz && damping == m.damping && inertia == m.inertia {
		return
	}
	m.hz, m.damping, m.inertia = hz, damping, inertia
	w := 2 * math.Pi * hz
	turn := w * math.Sqrt(1-damping*damping) * fastDT
	decay := math.Exp(-damping * w * fastDT)
	m.cos, m.sin = decay*math.Cos(turn), decay*math.Sin(turn)
}

// torqueStep shifts the rest point: a step of ΔT swings engine speed by ΔT/(J·2πf).
func (m *mode) torqueStep(nm float64) {
	m.wind += nm / (m.inertia * 2 * math.Pi * m.hz) * radToRPM
}

// kick changes engine speed at once.
func (m *mode) kick(rpm float64) { m.speed += rpm }

func (m *mode) step() float64 {
	m.speed, m.wind = m.cos*m.speed+m.sin*m.wind, m.cos*m.wind-m.sin*m.speed
	return m.speed
}

const radToRPM = 30 / math.Pi
