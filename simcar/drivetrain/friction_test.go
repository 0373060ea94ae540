package drivetrain

import (
	"math"
	"testing"
)

// rig is the stiff model of a slipping clutch that the figures were computed with, in
// turbine-side coordinates: engine, turbine, car on shafts. It is for checks only; the
// drives do not integrate it.
type rig struct {
	je, jt, jv, k, c    float64
	te                  float64
	torque              func(slip float64) float64 // of the clutch, Nm at slip rad/s
	we, wt, wv, twist   float64
	enginePP, turbinePP float64 // rpm
}

// newRig is a car of 1600 kg, rolling radius 0.32 m, overall ratio 3, at 1700 rpm.
func newRig(c float64, torque func(float64) float64, te, slip float64) *rig {
	r := &rig{je: 0.285, jt: 0.056, jv: 18.6, k: 1111, c: c, te: te, torque: torque}
	r.we = 1700 / radToRPM
	r.wt = r.we - slip - 0.05 // a little off, to see whether it grows
	r.wv = r.we - slip
	r.twist = te / r.k
	return r
}

// run integrates for some seconds at 50 µs, semi-implicitly, and measures the last one.
func (r *rig) run(seconds float64) {
	const dt = 5e-5
	eLow, eHigh, tLow, tHigh := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for i := range int(seconds / dt) {
		slip := r.we - r.wt
		clutch := r.torque(slip) * math.Tanh(slip/0.1)
		shaft := r.k*r.twist + r.c*(r.wt-r.wv)
		r.we += (r.te - clutch) / r.je * dt
		r.wt += (clutch - shaft) / r.jt * dt
		r.wv += (shaft - r.te) / r.jv * dt
		r.twist += (r.wt - r.wv) * dt
		if float64(i)*dt > seconds-1 {
			eLow, eHigh = math.Min(eLow, r.we), math.Max(eHigh, r.we)
			tLow, tHigh = math.Min(tLow, r.wt), math.Max(tHigh, r.wt)
		}
	}
	r.enginePP, r.turbinePP = (eHigh-eLow)*radToRPM, (tHigh-tLow)*radToRPM
}

// A clutch in slip is unstable when its slope gain g, Nm·s/rad, is below -c, the damping
// of the shafts (computed for this project; the same sub-critical stick-slip: "A
// numerical bifurcation study of friction effects in a slip-controlled torque converter
// clutch", Nonlinear Dynamics 50, 2007, 627).
func TestFriction_UnstableBelowMinusC(t *testing.T) {
	const te, slip = 110, 40 / radToRPM
	for _, c := range []struct {
		g, damping float64
		shudders   bool
	}{{-0.5, 0.82, false}, {-0.75, 0.82, false}, {-1.1, 0.82, true}, {-2.09, 0.82, true}, {-2.09, 3.27, false}} {
		clutch := func(s float64) float64 {
			return te + c.g*(clamp(s, 0, 2*slip)-slip)
		}
		r := newRig(c.damping, clutch, te, slip)
		// The engine alone would run away slowly on a falling slope; slip control holds it.
		r.torque = func(s float64) float64 { return clutch(s) + 2*(r.we-1700/radToRPM) }
		r.run(4)
		if got := r.turbinePP > 20; got != c.shudders {
			t.Errorf("g %v, c %v: turbine swings %.1f rpm, shudders: %v", c.g, c.damping, r.turbinePP, c.shudders)
		}
		if c.shudders && (r.enginePP < 1.5 || r.enginePP > 22) {
			t.Errorf("g %v: engine swings %.1f rpm, want 3 to 22 at most", c.g, r.enginePP)
		}
	}
}

// The friction slope at which shudder begins, 95 Nm, friction 0.13 at a radius of 0.1 m,
// damping 0.7: between -0.008 and -0.011 s/m (computed for this project); a dry-clutch rig
// found -0.005 s/m (Chinese J. Mech. Eng., doi 10.1186/s10033-023-00864-y), same order.
func TestFriction_CriticalSlope(t *testing.T) {
	const te, mu, radius, damping, slip = 95, 0.13, 0.1, 0.7, 40 / radToRPM
	shudders := func(slope float64) bool {
		clutch := func(s float64) float64 {
			return te / mu * (mu + slope*radius*(clamp(s, 0, 2*slip)-slip))
		}
		r := newRig(damping, nil, te, slip)
		r.torque = func(s float64) float64 { return clutch(s) + 2*(r.we-1700/radToRPM) }
		r.run(5)
		return r.turbinePP > 20
	}
	low, high := -0.02, -0.002 // shudders, does not
	if !shudders(low) || shudders(high) {
		t.Fatal("the search does not begin on both sides")
	}
	for range 6 {
		if mid := (low + high) / 2; shudders(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	if low < -0.0115 || high > -0.0075 {
		t.Errorf("shudder begins between %.4f and %.4f s/m", low, high)
	}
}
