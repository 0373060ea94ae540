package detect

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect/series"
	"github.com/judder-obd/judder/pids"
)

// Aliases of a true 8.2 Hz read 10 times a second: |8.2 − 1·10| = 1.8 (sampling theorem).
func TestAliases(t *testing.T) {
	if got := aliases(1.8, 10, 0.02); !reflect.DeepEqual(got, []float64{1.8, 8.2, 11.8}) {
		t.Errorf("even asking: %v", got)
	}
	for _, c := range []struct {
		hz, rate, spread float64
		want             []float64
	}{
		{1.8, 10, 0.3, []float64{1.8}}, {1.8, 10, 0.13, []float64{1.8}}, {1.8, 10, evenEnough, []float64{1.8, 8.2, 11.8}}, // uneven asking shows which it is
		{5, 10, 0, []float64{5, 15}},                                         // half the rate is its own alias
		{5, 20, 0, []float64{5, 15, 25}}, {5.1, 20, 0, []float64{5.1, 14.9}}, // no mode that shudders lies above 25 Hz
		{1.8, 9.96, 0, []float64{1.8, 8.2, 11.8}}, // in tenths of a Hz
	} {
		if got := aliases(c.hz, c.rate, c.spread); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%v Hz at %v readings a second, spread %v: %v, want %v", c.hz, c.rate, c.spread, got, c.want)
		}
	}
	for _, f := range aliases(1.8, 10, 0) {
		if seen := math.Abs(f - math.Round(f/10)*10); math.Abs(seen-1.8) > 1e-9 {
			t.Errorf("%v Hz is seen as %v", f, seen)
		}
	}
}

func TestVariantRefusesUnknownNames(t *testing.T) {
	if _, err := NewVariant(map[string]float64{"lucky number": 7}); err == nil || !strings.Contains(err.Error(), "lucky number") {
		t.Errorf("error %v", err)
	}
	before := standard
	if _, err := NewVariant(map[string]float64{"Wanted": 99}); err != nil || standard != before {
		t.Errorf("the standard table was changed, error %v", err)
	}
}

func TestLowestComputerIsHeard(t *testing.T) {
	var s series.Source
	at := func(id string, t float64) bool {
		use, _ := s.Accept(pids.Sample{ECU: id}, t, 5)
		return use
	}
	for i, c := range []struct {
		id   string
		t    float64
		want bool
	}{{"7E9", 0, true}, {"7E8", 0.1, true}, {"7E9", 0.2, false}, {"7E9", 4, false}, {"7E9", 5.2, true}, {"7E8", 5.3, true}} {
		if got := at(c.id, c.t); got != c.want {
			t.Errorf("%d: %s at %v used %v, want %v", i, c.id, c.t, got, c.want)
		}
	}
}

// A reading without a name does not take the place of one that has a name.
func TestNamelessIsNotHeardBesideNamed(t *testing.T) {
	var s series.Source
	for i, c := range []struct {
		id            string
		t             float64
		used, changed bool
	}{{"", 0, true, false}, {"7E9", 1, true, true}, {"", 2, false, false}, {"7E9", 5, true, false}, {"", 11, true, true}, {"", 12, true, false}, {"7E9", 13, true, true}} {
		if used, changed := s.Accept(pids.Sample{ECU: c.id}, c.t, 5); used != c.used || changed != c.changed {
			t.Errorf("%d: %q used %v, changed %v", i, c.id, used, changed)
		}
	}
}

// The same readings told by two computers at once change nothing.
func TestSecondComputerChangesNothing(t *testing.T) {
	one := cruise(60, 10, burst(40, 45, 1.9, 100))
	var two []pids.Sample
	for _, s := range one {
		two = append(two, s)
		s.ECU = "7E9"
		s.Value += 30
		two = append(two, s)
	}
	if a, b := run(one).Events(), run(two).Events(); !sameEvents(a, b) {
		t.Errorf("%+v\n%+v", a, b)
	}
}

func sameEvents(a, b []Event) bool { return fmt.Sprintf("%+v", a) == fmt.Sprintf("%+v", b) }

// A computer that refreshes ten times a second, asked twenty times, tells ten readings.
func TestRepeatsDoNotCount(t *testing.T) {
	var out []pids.Sample
	for _, s := range cruise(60, 10, burst(40, 45, 1.9, 100)) {
		out = append(out, s)
		if s.Signal == pids.RPM {
			s.At += 50 * time.Millisecond
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b pids.Sample) int { return int(a.At - b.At) })
	d := New()
	for _, s := range out {
		d.Push(s)
		if r := d.State().Rate; r > 11 {
			t.Fatalf("rate %v a second, refreshed 10 times", r)
		}
	}
	if len(d.Events()) != 1 {
		t.Errorf("events %+v", d.Events())
	}
}

// A file of ten lines a second with a new value about once a second is too slow.
func TestRowRateIsNotReadingRate(t *testing.T) {
	var out []pids.Sample
	last := 0.0
	for i, s := range cruise(200, 10, func(float64) float64 { return 0 }) {
		if s.Signal == pids.RPM {
			if int(s.At.Seconds()*10+0.5)%9 != 0 {
				s.Value = last
			}
			last = s.Value
		}
		if i > 0 && s.Value != 0 || s.Signal != pids.RPM {
			out = append(out, s)
		}
	}
	v := run(out).Verdict()
	if v.Finding != CannotTell || !strings.Contains(v.Reason, "about once a second; at least 3 readings a second are needed") {
		t.Errorf("%+v", v)
	}
}

// What others are told of the rates is what is judged by.
func TestRatesAreOne(t *testing.T) {
	if EnoughForNone != float64(enoughReadings)/judgedSpan || EnoughAtAll != float64(leastReadings)/judgedSpan {
		t.Errorf("%v and %v a second, the table says %d and %d in %v s", EnoughForNone, EnoughAtAll, enoughReadings, leastReadings, judgedSpan)
	}
}

func TestVerdictSaysWhy(t *testing.T) {
	only := func(keep func(pids.Sample) bool) []pids.Sample {
		var out []pids.Sample
		for _, s := range cruise(200, 10, func(float64) float64 { return 0 }) {
			if keep(s) {
				out = append(out, s)
			}
		}
		return out
	}
	for _, c := range []struct {
		name, want string
		samples    []pids.Sample
	}{
		{"no engine speed", "engine speed was not read", only(func(s pids.Sample) bool { return s.Signal != pids.RPM })},
		{"no road speed", "road speed was not read", only(func(s pids.Sample) bool { return s.Signal != pids.VSS })},
		{"idle", "no cruise", pieces(piece{60, 800, 0})},
		{"one stretch", "in 1 pass", only(func(pids.Sample) bool { return true })},
	} {
		if v := run(c.samples).Verdict(); v.Finding != CannotTell || !strings.Contains(v.Reason, c.want) {
			t.Errorf("%s: %+v", c.name, v)
		}
	}
}

// Three steady stretches at ten readings a second without a swing: no shudder, with its limit.
func TestVerdictNoShudder(t *testing.T) {
	samples := cruise(200, 10, func(float64) float64 { return 0 })
	for i := range samples { // the throttle is closed for 3 s in each minute
		if s := &samples[i]; s.Signal == pids.TP && math.Mod(s.At.Seconds(), 60) < 3 {
			s.Value = 14
		}
	}
	v := run(samples).Verdict()
	if v.Finding != NoShudder || v.SmallestRPM < 20 || v.SmallestRPM > 100 {
		t.Errorf("%+v", v)
	}
}

// The same drive in a car whose own scatter hides what is usually felt: not judged quiet.
func TestVerdictOfANoisyCar(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	samples := cruise(200, 10, func(float64) float64 { return 18 * r.NormFloat64() })
	for i := range samples {
		if s := &samples[i]; s.Signal == pids.TP && math.Mod(s.At.Seconds(), 60) < 3 {
			s.Value = 14
		}
	}
	v := run(samples).Verdict()
	if v.Finding != CannotTell || v.SmallestRPM <= 100 || !strings.Contains(v.Reason, "runs so rough") {
		t.Errorf("%+v", v)
	}
}

func TestNoThrottleIsSaid(t *testing.T) {
	var out []pids.Sample
	for _, s := range cruise(60, 10, burst(40, 46, 1.9, 160)) {
		if s.Signal != pids.TP {
			out = append(out, s)
		}
	}
	ev := run(out).Events()
	if len(ev) != 1 || !strings.Contains(ev[0].CannotTell, "no throttle or pedal reading") || !math.IsNaN(ev[0].ThrottlePct) {
		t.Errorf("%+v", ev)
	}
}

func TestSlowSwingIsNoShudder(t *testing.T) {
	d := run(cruise(90, 10, burst(40, 70, 0.5, 100)))
	if len(d.Events()) != 0 {
		t.Errorf("alarm %+v", d.Events())
	}
	ob := d.Observations()
	if len(ob) != 1 || ob[0].Kind != SlowSwing || ob[0].Start > 45*time.Second || ob[0].End < 65*time.Second {
		t.Errorf("observations %+v", ob)
	}
}

func TestLockUpCyclingIsNoShudder(t *testing.T) {
	d := run(cruise(120, 10, func(t float64) float64 {
		if t < 40 || math.Mod(t, 6) < 3 {
			return 0
		}
		return 150
	}))
	if len(d.Events()) != 0 {
		t.Errorf("alarm %+v", d.Events())
	}
	ob := d.Observations()
	if len(ob) == 0 || ob[0].Kind != LockUpCycling || ob[0].SwingRPM < 100 || ob[0].SwingRPM > 220 {
		t.Errorf("observations %+v", ob)
	}
}

func TestCoverage(t *testing.T) {
	d := run(cruise(120, 10, func(float64) float64 { return 0 }))
	var sum time.Duration
	for _, b := range d.Coverage() {
		sum += b.Judged
		if b.Judged > 0 && (b.FromKMH > 60 || b.ToKMH <= 60) {
			t.Errorf("judged at 60 km/h, booked from %v to %v", b.FromKMH, b.ToKMH)
		}
		if (b.Judged > 0) != (b.SmallestRPM > 0) {
			t.Errorf("a smallest swing goes with judged time alone: %+v", b)
		}
	}
	if diff := (sum - d.books.ledger.judged).Abs(); diff > time.Millisecond {
		t.Errorf("bands hold %v, judged %v", sum, d.books.ledger.judged)
	}
}

// Events may be read while the drive goes on; what was read does not change what comes.
func TestReadingResultsChangesNothing(t *testing.T) {
	samples := cruise(60, 10, burst(40, 45, 1.9, 100))
	want := run(samples)
	d := New()
	for _, s := range samples {
		d.Push(s)
		_, _, _, _ = d.State(), d.Verdict(), d.Spans(), d.Coverage()
	}
	d.Finish(samples[len(samples)-1].At)
	if !sameEvents(want.Events(), d.Events()) || !reflect.DeepEqual(want.Spans(), d.Spans()) {
		t.Error("asking for results changed them")
	}
}

func TestPushAllocatesNothing(t *testing.T) {
	samples := cruise(120, 20, burst(40, 45, 1.9, 100))
	d := New()
	for _, s := range samples[:len(samples)/2] {
		d.Push(s)
	}
	rest := samples[len(samples)/2:]
	i := 0
	if n := testing.AllocsPerRun(len(rest)-2, func() { d.Push(rest[i]); i++ }); n > 0 {
		t.Errorf("%v allocations a sample", n)
	}
}

func TestOldAndBrokenSamplesAreDropped(t *testing.T) {
	d := New()
	d.Push(pids.Sample{At: 5 * time.Second, Signal: pids.RPM, Value: 800})
	d.Push(pids.Sample{At: 4 * time.Second, Signal: pids.RPM, Value: 900})
	d.Push(pids.Sample{At: 6 * time.Second, Signal: pids.RPM, Value: math.NaN()})
	d.Push(pids.Sample{At: 7 * time.Second, Signal: pids.VSS, Value: math.Inf(1)})
	if d.in.readings != 1 || d.books.speeds != 0 {
		t.Errorf("%d readings, %d speeds", d.in.readings, d.books.speeds)
	}
}

func FuzzPush(f *testing.F) {
	f.Add([]byte{1, 0, 200, 2, 1, 60, 3, 0, 0, 9, 0, 0, 8, 0, 0})
	f.Fuzz(func(t *testing.T, b []byte) {
		d := New()
		at := time.Duration(0)
		names := []pids.Signal{pids.RPM, pids.VSS, pids.TP, pids.APPD, pids.ECT, pids.LoadPct}
		for i := 0; i+2 < len(b); i += 3 {
			at += time.Duration(b[i]) * 10 * time.Millisecond
			d.Push(pids.Sample{At: at, ECU: string(rune('7' + b[i+1]>>7)), Signal: names[int(b[i+1]&127)%len(names)], Value: float64(b[i+2]) * 20})
		}
		d.Finish(at + time.Second)
		end := time.Duration(0)
		for _, s := range d.Spans() {
			if s.Start != end || s.End <= s.Start {
				t.Fatalf("spans do not follow each other: %+v", d.Spans())
			}
			end = s.End
		}
		if end != at+time.Second {
			t.Fatalf("spans end at %v, the drive at %v", end, at+time.Second)
		}
		_ = d.Verdict()
	})
}

func ExampleDetector() {
	d := New()
	samples := cruise(60, 10, burst(40, 45, 1.9, 100))
	for _, s := range samples {
		d.Push(s)
	}
	d.Finish(60 * time.Second)
	v := d.Verdict()
	fmt.Println(v.Finding == Shudder, v.Reason)
	for _, e := range d.Events() {
		fmt.Printf("at %.0f s for %.0f s, regular %v, main frequency %.1f Hz\n", e.Start.Seconds(), (e.End - e.Start).Seconds(), e.Regular, e.Hz[0])
	}
	// Output:
	// true engine speed swung at steady throttle in 1 pass
	// at 40 s for 5 s, regular true, main frequency 1.9 Hz
}

// A driver's demand that swings within what counts as steady, in step with engine speed, is named.
func TestFootInStepIsNamed(t *testing.T) {
	const words = "swings in step"
	swing := burst(40, 45, 1.9, 100)
	for _, c := range []struct {
		demand float64 // % peak to peak
		hz     float64
		want   bool
	}{{2.6, 1.9, true}, {0, 1.9, false}, {2.6, 0.9, false}} {
		samples := cruise(60, 20, swing)
		for i, s := range samples {
			if s.Signal == pids.TP && s.At.Seconds() > 39 {
				samples[i].Value += c.demand / 2 * math.Sin(2*math.Pi*c.hz*s.At.Seconds())
			}
		}
		ev := run(samples).Events()
		if len(ev) != 1 || strings.Contains(ev[0].CannotTell, words) != c.want {
			t.Errorf("demand %v %% at %v Hz: %+v, want %q told: %v", c.demand, c.hz, ev, words, c.want)
		}
	}
}

// A gap of the link in which the car lost some speed is no demand that came to rest: what follows is
// judged by the same throttle, and shudder after the gap is found.
func TestGapIsNoFootOff(t *testing.T) {
	var out []pids.Sample
	for i := 0; i < 180*20; i++ {
		at := float64(i) / 20
		if at >= 60 && at < 72 {
			continue
		}
		speed, rpm := 79.0, 1700+3*math.Sin(40*at)
		for _, fall := range []float64{62, 65, 68} {
			if at >= fall {
				speed--
			}
		}
		if at >= 120 {
			rpm += 60 * math.Sin(2*math.Pi*2.3*at)
		}
		when := time.Duration(at * 1e9)
		for _, x := range []pids.Sample{{Signal: pids.RPM, Value: rpm}, {Signal: pids.VSS, Value: speed}, {Signal: pids.TP, Value: 18}, {Signal: pids.ECT, Value: 88}} {
			x.At, x.ECU = when, "7E8"
			out = append(out, x)
		}
	}
	d := run(out)
	if len(d.Events()) != 1 {
		t.Errorf("%d events, want 1", len(d.Events()))
	}
}

// An event's readings are those of its swings, each counted once.
func TestEventReadings(t *testing.T) {
	ev := run(cruise(80, 20, burst(40, 60, 1.9, 100))).Events()
	if len(ev) != 1 {
		t.Fatalf("%+v", ev)
	}
	want := int((ev[0].End - ev[0].Start).Seconds() * 20)
	if got := ev[0].Readings; got < want*9/10 || got > want*11/10 {
		t.Errorf("%d readings in %v at 20 a second, want about %d", got, ev[0].End-ev[0].Start, want)
	}
}
