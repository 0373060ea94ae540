package drivetrain

import "time"

// tapper is the driver's left foot in a road test: in every second shudder it touches the brake just
// enough for the lights, with the throttle kept, so that the converter clutch opens.
type tapper struct {
	begun   int     // slow step at which the burst under way began; 0: none
	count   int     // bursts
	felt    float64 // seconds that it has been felt
	left    float64 // seconds of the tap under way
	touches bool
	taps    []Tap
}

// Tap is one touch of the brake with the throttle kept.
type Tap struct{ Start, End time.Duration }

// How a driver touches the brake (judgement): a shudder is felt from feltRPM on, the foot takes
// reactSeconds, and stays for tapSeconds; the pads hold the car a little.
const (
	feltRPM      = 40
	reactSeconds = 0.7
	tapSeconds   = 2.2
	tapBrake     = 0.12 // m/s²
)

// watch follows the shudder that can be felt now.
func (t *tapper) watch(w *world) {
	if t.left > 0 {
		if t.left -= slowDT; t.left <= 0 || !w.driver.reached {
			t.touches, t.left = false, 0
			t.taps[len(t.taps)-1].End = w.now()
		}
		return
	}
	b := w.felt()
	switch {
	case b == nil:
		t.begun = 0
		return
	case b.begun != t.begun:
		t.begun, t.felt = b.begun, 0
		t.count++
	}
	d := &w.driver
	if t.felt += slowDT; t.felt < reactSeconds || t.felt >= reactSeconds+slowDT || t.count%2 == 0 || !d.act.taps || !d.reached {
		return
	}
	t.touches, t.left = true, tapSeconds
	t.taps = append(t.taps, Tap{Start: w.now()})
}

// felt is the burst of shudder that can be felt now; nil for none.
func (w *world) felt() *burst {
	for _, e := range w.effects {
		if s, ok := e.(*swing); ok && s.on && s.burst.envelope >= feltRPM {
			return &s.burst
		}
	}
	return nil
}

// Taps lays out the drive to its length and returns when the driver touched the brake with the
// throttle kept.
func (d *Drive) Taps() []Tap {
	d.extend(d.spec.Length)
	return d.world.driver.tapper.taps
}
