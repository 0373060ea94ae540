package bench

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
)

// Exact intervals of a Poisson mean, from the published table (Garwood, Biometrika 28, 1936).
func TestRateInterval(t *testing.T) {
	for _, c := range []struct {
		n         int
		low, high float64
	}{{0, 0, 3.69}, {1, 0.0253, 5.57}, {5, 1.62, 11.67}, {10, 4.80, 18.39}, {20, 12.22, 30.89}} {
		low, high := RateInterval(c.n)
		if math.Abs(low-c.low) > 0.006 || math.Abs(high-c.high) > 0.006 {
			t.Errorf("%d events: %.3f to %.3f, want %v to %v", c.n, low, high, c.low, c.high)
		}
	}
}

// quiet is a world at 1700 rpm without noise, for one component alone.
func quiet(seed uint64, seconds float64) *world {
	w := lay(Scene{Name: string(Healthy), Seed: seed}, seconds)
	for i := range w.rpm {
		w.rpm[i], w.load[i], w.speed[i] = 1700, 50, 80
	}
	w.spans = nil
	return w
}

// The swing and the frequency of a burst of the formula world are those of the engine speed
// without noise.
func TestFormula_TruthOfWaves(t *testing.T) {
	for seed := range uint64(40) {
		w := quiet(seed, 20)
		v := wave{swing: w.between(50, 600), hz: w.between(1, 6), drift: w.between(0, 0.9), saw: w.between(0, 1)}
		w.wave(int(4*stepHz), int(14*stepHz), v, shudderSpan)
		s := w.spans[0]
		body := w.rpm[int((s.Start+0.6)*stepHz):int((s.End-0.6)*stepHz)]
		if got := span(body); !scalar.EqualWithinRel(got, s.SwingRPM, 0.4) { // it breathes by some tens of percent
			t.Errorf("seed %d: swings %.0f rpm, truth %.0f", seed, got, s.SwingRPM)
		}
		ups := 0
		for i := 1; i < len(body); i++ {
			if body[i-1] < 1700 && body[i] >= 1700 {
				ups++
			}
		}
		if v.saw > 0.5 {
			continue // a saw with its leap may cross between two ticks
		}
		if got := float64(ups) / (float64(len(body)) * tick); math.Abs(got-s.Hz) > 0.35*s.Hz+0.15 {
			t.Errorf("seed %d: %.2f Hz, truth %.2f (drift %.2f)", seed, got, s.Hz, v.drift)
		}
	}
}

// What is cold is cold when it shakes or runs rough, and warm later; a misfire under load comes
// above its load alone.
func TestFormula_Conditions(t *testing.T) {
	for _, c := range []struct {
		script Kind
		holds  func(w *world, i int) bool
	}{
		{ColdMisfire, func(w *world, i int) bool { return w.coolant(i) <= 61 }},
		{Cold, func(w *world, i int) bool { return w.coolant(i) <= 61 }},
		{HillMisfire, func(w *world, i int) bool { return w.load[i] > 36 }},
		{RingMisfire, func(w *world, i int) bool { return w.load[i] > 33 }},
		{TrainMisfire, func(w *world, i int) bool { return w.load[i] > 29 }},
		{PartMisfire, func(w *world, i int) bool { return w.load[i] > 22 && w.load[i] < 46 }},
	} {
		w := lay(Scene{Name: string(c.script), Seed: 5}, formulaLength)
		if len(w.spans) == 0 {
			t.Errorf("%s: nothing happens", c.script)
		}
		for _, s := range w.spans {
			if i := int(s.Start/tick + 0.5); !c.holds(w, i) {
				t.Errorf("%s at %.1f s: %.0f °C, load %.0f", c.script, s.Start, w.coolant(i), w.load[i])
			}
		}
	}
	if w := lay(Scene{Name: string(ColdBursts), Seed: 5}, formulaLength); !slices.ContainsFunc(w.spans, func(s Span) bool { return w.coolant(int(s.Start/tick)) < 49 }) {
		t.Error("no burst in the cold")
	}
}

// Every script of both worlds lays out the same drive again, holds readings of engine speed at the
// rate asked, and shudder if and only if its role says so.
func TestScenes(t *testing.T) {
	for world, rows := range casts {
		for _, row := range rows {
			s := Scene{World: world, Name: row.name, Seed: 4, Swing: 100, Role: row.role}
			if got, err := ParseScene(s.Key()); err != nil || got != s {
				t.Errorf("%s: read back as %+v, %v", s.Key(), got, err)
			}
			if testing.Short() && world == WorldCar {
				continue
			}
			d := s.lay().Read(Askings[4])
			if again := s.lay().Read(Askings[4]); !reflect.DeepEqual(d, again) {
				t.Errorf("%s: another drive", s.Key())
			}
			shakes := slices.ContainsFunc(d.Spans, func(s Span) bool { return s.Shudder })
			if want := row.role == Shaking || row.role == Brief || row.role == Always; shakes != want {
				t.Errorf("%s: shudder %v", s.Key(), shakes)
			}
			n := 0
			for _, x := range d.Samples {
				if x.Signal == pids.RPM {
					n++
				}
			}
			if perSecond := float64(n) / d.Length; perSecond < 8.5 || perSecond > 11 {
				t.Errorf("%s: %.1f readings a second", s.Key(), perSecond)
			}
		}
	}
	for _, key := range []string{"", "car/city/1", "car/city/x/0", "car/city/1/x", "car/to the moon/1/0", "moon/city/1/0"} {
		if s, err := ParseScene(key); err == nil {
			t.Errorf("%q: %+v", key, s)
		}
	}
}

// Rounds share no seed, of a car that always shakes neither.
func TestScenes_Seeds(t *testing.T) {
	for world := range casts {
		seen := map[uint64]bool{}
		for _, s := range Scenes(world, 1000, 3, nil) {
			if seen[s.Seed] || s.Seed < 1000 || s.Seed >= 1000+3*seedsOfRound {
				t.Errorf("%s: seed used twice, or outside of its range", s.Key())
			}
			seen[s.Seed] = true
		}
	}
}

// The intervals of uneven asking spread evenly over ±50 % of the usual one.
func TestAskings_Uneven(t *testing.T) {
	for _, world := range []string{WorldFormula, WorldCar} {
		s := Scene{World: world, Name: "city", Seed: 3}
		var steps []float64
		last := -1.0
		for _, x := range s.lay().Read(Askings[3]).Samples {
			if x.Signal == pids.RPM {
				if at := x.At.Seconds(); last >= 0 {
					steps = append(steps, at-last)
				}
				last = x.At.Seconds()
			}
		}
		for _, c := range []struct{ q, want float64 }{{0.05, 0.11}, {0.5, 0.2}, {0.93, 0.286}} {
			if got := Quantile(steps, c.q); math.Abs(got-c.want) > 0.02 {
				t.Errorf("%s: %.0f %% of the intervals are under %.3f s, want %.3f", world, 100*c.q, got, c.want)
			}
		}
	}
}

// The figures do not depend on the number of workers, and count what they were given.
func TestRun_Workers(t *testing.T) {
	p := Plan{Askings: Askings[4:5], Workers: 1}
	for k, name := range []Kind{Bursts, Healthy, Misfire} {
		p.Scenes = append(p.Scenes, Scene{World: WorldFormula, Name: string(name), Seed: uint64(40 + k), Role: []Role{Shaking, Fine, Alike}[k]})
	}
	one := Run(p)[0][0]
	p.Workers = 3
	if three := Run(p)[0][0]; !reflect.DeepEqual(one, three) {
		t.Error("three workers come to other figures than one")
	}
	if one.Mid.Of+one.Big.Of == 0 || math.Abs(one.Hours-0.5) > 1e-9 {
		t.Errorf("%d bursts in %.2f h", one.Mid.Of+one.Big.Of, one.Hours)
	}
	var text strings.Builder
	if err := one.Print(&text); err != nil || strings.Contains(text.String(), "%!") {
		t.Errorf("%v: %s", err, text.String())
	}
}

// A detector that says nothing misses every burst; the events of one that says all count as found,
// or false where nothing shook.
func TestFigures_Score(t *testing.T) {
	d := &Drive{Scene: Scene{World: WorldFormula, Name: string(Bursts)}, Length: 100, Spans: []Span{
		{Start: 20, End: 23, SwingRPM: 80, Hz: 2, Shudder: true, Counts: true, Name: "shudder"},
		{Start: 40, End: 43, SwingRPM: 150, Hz: 2, Shudder: true, Counts: true, Name: "shudder"},
		{Start: 60, End: 70, Name: "misfire"},
	}}
	f := newFigures(nil)
	r := &ran{events: []detect.Event{{Start: 21e9, End: 23e9, SwingRPM: 88}, {Start: 62e9, End: 66e9}, {Start: 90e9, End: 92e9}}, told: []float64{22, 64, 91}}
	for _, s := range d.Spans[:2] {
		f.burst(d, s, r)
	}
	for _, e := range r.events {
		f.event(d, e, r)
	}
	if f.Mid != (Count{1, 1}) || f.Big != (Count{0, 1}) || f.FalseN != 2 || f.False["bursts/misfire"] != 1 || f.False["bursts/nothing"] != 1 {
		t.Errorf("%v %v false %v", f.Mid, f.Big, f.False)
	}
	if tm := f.Timing; !reflect.DeepEqual(tm, Timing{Delay: []float64{2}, Start: []float64{1}, End: []float64{0}, Swing: []float64{1.1}}) {
		t.Errorf("%+v", tm)
	}
}

// A clutch that is applied, let go and applied again within seconds wavers; one that is applied and
// stays so does not, nor one that is let go a minute later.
func TestWavering(t *testing.T) {
	for _, c := range []struct {
		shares string // one a second, tenths
		want   []Span
	}{
		{"0000258888888", nil},
		{"00002588888888888888520000", nil},
		{"0000250000260000", []Span{{Start: 4, End: 6, Name: "clutch wavers"}, {Start: 10, End: 12, Name: "clutch wavers"}}},
	} {
		var w wavering
		for i, share := range c.shares {
			w.see(float64(i), float64(share-'0')/10)
		}
		if !reflect.DeepEqual(w.spans, c.want) {
			t.Errorf("%s: %+v, want %+v", c.shares, w.spans, c.want)
		}
	}
}
