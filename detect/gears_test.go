package detect

import (
	"github.com/judder-obd/judder/detect/series"
	"math"
	"testing"
)

// e to the entropy of n equal places is n (Shannon 1948).
func TestPlaces(t *testing.T) {
	for _, n := range []int{1, 5, 40} {
		var g gears
		for i := range 40 * n {
			g.add(20 * math.Exp(3*gearCell*float64(i%n)))
		}
		if got := g.places(); !(math.Abs(got-float64(n)) <= 1e-9) {
			t.Errorf("%d equal places: %v", n, got)
		}
	}
}

// Places reach from ln 1.5 for 200 cells of 2 %; what is beside them does not count.
func TestPlaces_Ends(t *testing.T) {
	for _, c := range []struct {
		ln   float64
		cell int
	}{{gearLow - 0.021, -1}, {gearLow + 0.001, 0}, {gearLow + 0.021, 1}, {gearLow + 3.999, 199}, {gearLow + 4.001, -1}} {
		var g gears
		g.add(math.Exp(c.ln))
		if want := uint32(min(1, c.cell+1)); g.n != want || want == 1 && g.count[c.cell] != 1 {
			t.Errorf("ln %v: %v looks, cells %v", c.ln, g.n, g.count)
		}
	}
}

// The ratio counts while the engine runs (400 rpm is the least), the throttle is open, and road speed is
// that of a cruise and fresh.
func TestCountGears(t *testing.T) {
	for _, c := range []struct {
		name            string
		rpm, speed, age float64
		throttle        float64
		want            uint32
	}{
		{"cruise", 1700, 60, 0, 20, 1}, {"slowest", 1700, 30, 0, 20, 1}, {"too slow", 1700, 29, 0, 20, 0}, {"just fresh", 1700, 60, 5, 20, 1}, {"old", 1700, 60, 5.125, 20, 0},
		{"runs", 401, 30, 0, 20, 1}, {"does not run", 400, 30, 0, 20, 0}, {"coasts", 1700, 60, 0, 14, 0},
	} {
		r := newConditions()
		r.restSeen = true
		r.throttle.take(series.Reading{T: 1, V: 14}, 0)
		r.throttle.take(series.Reading{T: 2, V: 30}, 0)
		r.throttle.take(series.Reading{T: 10, V: c.throttle}, 0)
		r.speed.Add(series.Reading{T: 10, V: c.speed})
		if r.countGears(10+c.age, c.rpm, &limits); r.gears.n != c.want {
			t.Errorf("%s: counted %d times", c.name, r.gears.n)
		}
	}
}
