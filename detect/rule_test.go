package detect

import (
	"math"
	"testing"

	"github.com/judder-obd/judder/detect/series"
)

// Two looks that pass within the time are an alarm; one alone is when it has much to spare, and one that
// does not pass never is.
func TestDecide(t *testing.T) {
	for _, c := range []struct {
		name   string
		before float64 // s, when a look passed before
		passed bool
		margin float64
		want   bool
	}{
		{"the first", math.Inf(-1), true, 1, false},
		{"the second, soon", 9.5, true, 1, true},
		{"the second, at the last moment", 10 - standard.Within, true, 1, true},
		{"the second, late", 9.1, true, 1, false},
		{"one with much to spare", math.Inf(-1), true, standard.Once, true},
		{"one that lacks size", 9.8, false, 9, false},
	} {
		d := New()
		d.rule.passT = c.before
		if got := d.decide(&look{t: 10, passed: c.passed, margin: c.margin}); got != c.want {
			t.Errorf("%s: alarm %v", c.name, got)
		}
	}
}

// An event is near until join seconds after its end; without an event nothing is.
func TestNear(t *testing.T) {
	var b eventBook
	if b.near(3, 2.5) {
		t.Error("near to no event")
	}
	b.events, b.endT = make([]Event, 1), 10
	if !b.near(12.4, 2.5) || b.near(12.6, 2.5) {
		t.Error("2.5 s after the end decide")
	}
}

// Less evidence is wanted of a slow link, and all of it from slowRate on.
func TestWantedAt(t *testing.T) {
	for _, c := range []struct{ rate, want float64 }{{2.7, 10.5}, {3, 10.5}, {5, 11.75}, {7, 13}, {20, 13}} {
		if got := standard.wantedAt(c.rate); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%v a second: %v nats, want %v", c.rate, got, c.want)
		}
	}
}

// Each healthy explanation counts by what it leaves and costs; the best of them stands against shaking.
// Worked by hand: (6+12)/2·ln((q+1200)/(900+1200)) and 6/2·ln(q/900).
func TestAgainst(t *testing.T) {
	w := weigher{spare: 6, worth: 12, prior: 1200, shaking: 900}
	f := fitted{evidence: w.known(9000), free: w.free(9000)}
	if math.Abs(f.evidence-9*math.Log(10200./2100)) > 1e-9 || math.Abs(f.free-3*math.Log(10)) > 1e-9 {
		t.Fatalf("%v and %v nats", f.evidence, f.free)
	}
	f.against(&w, 20000, 0, slowlyWaving)
	if f.healthy != parabola {
		t.Error("a worse explanation counts")
	}
	f.against(&w, 3000, 2, steps)
	if f.healthy != steps || math.Abs(f.evidence-(9*math.Log(2)+2)) > 1e-9 || math.Abs(f.free-(3*math.Log(10./3)+2)) > 1e-9 {
		t.Errorf("%v and %v nats against %v", f.evidence, f.free, f.healthy)
	}
}

// Readings nearer than Near are averaged, in time and in value, and no more of them than that.
func TestNearReadingsAreAveraged(t *testing.T) {
	in := newIntake()
	for i, v := range []float64{1800, 1810, 1820, 1830, 1840} {
		in.take(5+0.03*float64(i), v, &standard)
	}
	want := []series.Reading{{T: 5.03, V: 1810}, {T: 5.105, V: 1835}}
	if len(in.rpm.All) != len(want) {
		t.Fatalf("%+v", in.rpm.All)
	}
	for i, r := range in.rpm.All {
		if math.Abs(r.T-want[i].T) > 1e-9 || math.Abs(r.V-want[i].V) > 1e-9 {
			t.Errorf("%+v, want %+v", r, want[i])
		}
	}
}

// The demand's rest is known once the car stood or braked and the demand moved; it moves when its range
// is larger than counts as steady.
func TestDemand(t *testing.T) {
	r := newConditions()
	r.throttle.take(series.Reading{T: 1, V: 14}, 0)
	r.throttle.take(series.Reading{T: 2, V: 17}, 0)
	if r.demandMoves(2, &standard) {
		t.Error("3 % within the time is moving")
	}
	r.restSeen = true
	if r.restKnown(&r.throttle, &standard) {
		t.Error("3 % of range tell where the rest is")
	}
	r.throttle.take(series.Reading{T: 3, V: 20}, 0)
	if !r.restKnown(&r.throttle, &standard) {
		t.Error("6 % of range and a stop do not tell where the rest is")
	}
	r.restSeen = false
	if r.restKnown(&r.throttle, &standard) {
		t.Error("a rest that was never seen is known")
	}
	r.throttle.take(series.Reading{T: 3.2, V: 15}, 0)
	if !r.demandMoves(3.2, &standard) {
		t.Error("5 % within the time is steady")
	}
	r.throttle.take(series.Reading{T: 4, V: 60}, -1)
	if len(r.throttle.All) != 1 || r.throttle.moved() != 0 {
		t.Error("a better signal does not start again")
	}
}

// Steps repeat when enough of them follow each other, not too fast and not too slowly.
func TestRepeated(t *testing.T) {
	for _, c := range []struct {
		every float64
		n     int
		ok    bool
	}{{4, 5, true}, {4, 4, false}, {1, 5, false}, {25, 5, false}} {
		var s stepWatch
		for i := range c.n {
			s.turn(10+c.every*float64(i), 0.1+0.01*float64(i))
		}
		from, size, ok := s.repeated(5, 1.8, 20)
		if ok != c.ok {
			t.Errorf("%d steps, one in %v s: %v", c.n, c.every, ok)
		}
		if ok && (from != 10 || math.Abs(size-0.12) > 1e-9) {
			t.Errorf("from %v s, size %v", from, size)
		}
	}
}
