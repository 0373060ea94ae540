package detect

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"

	"github.com/judder-obd/judder/detect/series"
	"github.com/judder-obd/judder/pids"
)

// The median by sorting; of an even number it is the upper one, and of nothing 0.
func TestMedian1s(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	var work [maxWindow]series.Reading
	for n := range 30 {
		w := make([]series.Reading, n)
		v := make([]float64, n)
		for i := range w {
			v[i] = math.Round(9 * r.Float64())
			w[i] = series.Reading{T: float64(i), V: v[i]}
		}
		want := 0.0
		if slices.Sort(v); n > 0 {
			want = v[n/2]
		}
		if got := median1s(w, &work); got != want {
			t.Errorf("of %v: %v", v, got)
		}
	}
}

// Three readings are on a parabola, and so are more that are made by one.
func TestParabolaRMS_Exact(t *testing.T) {
	for n := 1; n < 9; n++ {
		var w []series.Reading
		for i := range n {
			x := float64(i)
			w = append(w, series.Reading{T: 100 + x/8, V: 1700 + 30*x - 4*x*x})
		}
		if got := parabolaRMS(w); !(got <= 1e-5) {
			t.Errorf("%d readings of a parabola: %v rpm about it", n, got)
		}
		for i := range w { // over a thousandth of a second and over hours, from an engine speed that is no whole number
			w[i].T, w[i].V = math.Ldexp(w[i].T-100, -10), w[i].V+0.1
		}
		if got := parabolaRMS(w); !(got <= 1e-5) {
			t.Errorf("%d readings within milliseconds: %v rpm about their parabola", n, got)
		}
		for i := range w {
			w[i].T = math.Ldexp(w[i].T, 24)
		}
		if got := parabolaRMS(w); !(got <= 1e-5) {
			t.Errorf("%d readings over hours: %v rpm about their parabola", n, got)
		}
	}
	if got := parabolaRMS(at(0, 0, 1, 1, 2, -1, 3, 1, 4, 0)); math.IsNaN(got) || got <= 0 {
		t.Errorf("readings off a parabola: %v", got)
	}
	if got := parabolaRMS(at(3, 0, 3, 2, 3, 0, 3, 2)); !(math.Abs(got-2) <= 1e-9) { // of one time: about their mean, by hand 4/(4−3)
		t.Errorf("readings of one time: %v, want 2", got)
	}
}

// The floor learns from an engine that runs and pulls: since the span of a look at least, without a step of
// the ratio in it, an alarm near it or a hole of more than 5 s, faster than a crawl as read in the last 5 s.
func TestLearns(t *testing.T) {
	th := limits
	th.FloorSpan = 1.5
	for _, c := range []struct {
		name   string
		change func(d *Detector)
		first  float64 // s, of the readings; the last is of 100 s
		want   bool
	}{
		{"cruise", func(*Detector) {}, 98, true},
		{"stopped", func(d *Detector) { d.stopw.stopped = true }, 98, false},
		{"started long enough ago", func(d *Detector) { d.in.started = 98.5 }, 98, true},
		{"started just now", func(d *Detector) { d.in.started = 100 - d.th.FloorSpan + 0.001 }, 98, false},
		{"readings over 5 s", func(*Detector) {}, 95, true},
		{"over more", func(*Detector) {}, 94.875, false},
		{"stepped before", func(d *Detector) { d.rule.steppedT = 98.5 }, 98, true},
		{"stepped in it", func(d *Detector) { d.rule.steppedT = 100 - d.th.FloorSpan + 0.001 }, 98, false},
		{"alarm", func(d *Detector) { d.state.Alarmed = true }, 98, false},
		{"alarm before", func(d *Detector) { d.rule.alarmT = 100 - d.th.Join }, 98, true},
		{"alarm lately", func(d *Detector) { d.rule.alarmT = 100.001 - d.th.Join }, 98, false},
		{"slow", func(d *Detector) { d.conditions.speed.Add(series.Reading{T: 100, V: crawlSpeed}) }, 98, true},
		{"slower", func(d *Detector) { d.conditions.speed.Add(series.Reading{T: 100, V: crawlSpeed - 1}) }, 98, false},
		{"speed 5 s old", func(d *Detector) { d.conditions.speed.All[0].T = 95 }, 98, true},
		{"older", func(d *Detector) { d.conditions.speed.All[0].T = 94.875 }, 98, false},
		{"speed not read", func(d *Detector) { d.conditions.speed.Clear() }, 98, false},
		{"coasting", func(d *Detector) {
			d.conditions = *conditionsOf(at(0, 14, 5, 30, 99, 14), nil, at(0, 0, 1, 0, 2, 0, 99, 60))
		}, 98, false},
	} {
		d := newWith(&th)
		d.conditions.speed.Add(series.Reading{T: 99, V: 60})
		if c.change(d); d.learns(100, at(c.first, 1700, 99, 1700, 100, 1700)) != c.want {
			t.Errorf("%s: learns %v", c.name, !c.want)
		}
	}
	// Five readings are a look at the floor, whose clock stops while it learns nothing, a second for each look at
	// most.
	d := newWith(&limits)
	d.conditions.speed.Add(series.Reading{T: 99, V: 60})
	d.rule.learnLess, d.rule.lookT = 7, 99.75
	w := at(99, 1700, 99.25, 1703, 99.5, 1701, 99.75, 1700, 100, 1702)
	if d.learn(&look{t: 100}, 40, w[1:], true); d.floor.n != 0 {
		t.Error("four readings are a look at the floor")
	}
	if d.learn(&look{t: 100}, 40, w, true); d.floor.n != 1 || d.floor.wait[0].t != 93 || d.floor.wait[0].load != loadOf(40) || !d.floor.wait[0].steady {
		t.Errorf("%d looks wait: %+v", d.floor.n, d.floor.wait[0])
	}
	d.stopw.stopped = true
	d.learn(&look{t: 100}, 40, w, true)
	d.rule.lookT = 90
	if d.learn(&look{t: 100}, 40, w, true); d.floor.n != 1 || d.rule.learnLess != 8.25 {
		t.Errorf("%d looks wait, the clock stood for %v s", d.floor.n, d.rule.learnLess)
	}
}

// A window that is cut is so by the later of the two: the ratio stepped, or the throttle moved. It reaches
// back a little before that.
func TestCut(t *testing.T) {
	for _, c := range []struct {
		stepped, moved float64
		want           Reason
	}{{5, 4, RatioStepped}, {5, 5, RatioStepped}, {4, 5, ThrottleMoving}} {
		d := newWith(&limits)
		d.rule.steppedT, d.rule.movedT = c.stepped, c.moved
		if got := d.cutReason(); got != c.want || d.cut() != 5-d.th.Cut {
			t.Errorf("stepped at %v s, moved at %v: %v, cut at %v", c.stepped, c.moved, got, d.cut())
		}
		for i := range 80 {
			d.in.rpm.Add(series.Reading{T: float64(i) / 8})
		}
		if w := d.back(9.875, 2); len(w) != 17 {
			t.Errorf("%d readings in 2 s at 8 a second", len(w))
		}
		if w := d.back(9.875, 9); w[0].T != math.Ceil(8*(5-d.th.Cut))/8 {
			t.Errorf("the longest window begins at %v s", w[0].T)
		}
	}
}

// An event's readings are those after the last that was counted, up to its end; each is counted once.
func TestCountFresh(t *testing.T) {
	d := newWith(&limits)
	for i := range 80 {
		d.in.all.Add(series.Reading{T: float64(i) / 8})
	}
	for i, c := range []struct {
		first, last float64
		want        int
	}{{1, 2, 9}, {1, 2, 0}, {1.5, 3, 8}, {2, 2.5, 0}, {5, 6, 9}} { // both ends count when nothing was counted before
		if got := d.countFresh(&look{first: c.first, last: c.last}); got != c.want {
			t.Errorf("look %d from %v to %v s at 8 a second: %d readings, want %d", i, c.first, c.last, got, c.want)
		}
	}
}

// The throttle swings in step when most of its movement is a wave of the frequency of engine speed, large
// enough to be no rounding; as few readings as may be judged show it.
func TestDemandInStep(t *testing.T) {
	for _, c := range []struct {
		name           string
		hz, peakToPeak float64 // of the throttle
		n              int     // readings in 3 s
		engine         float64 // Hz
		scatter        float64
		want           bool
	}{
		{"in step", 2, 1.05 * inStepPct, 31, 2, 0, true}, {"small", 2, 0.95 * inStepPct, 31, 2, 0, false}, {"another frequency", 1, 3, 31, 2, 0, false}, {"no frequency", 2, 3, 31, 0, 0, false},
		{"just enough readings", 1, 3, leastReadings, 1, 0, true}, {"one less", 1, 3, leastReadings - 1, 1, 0, false}, {"in much else", 2, 4, 31, 2, 4, false}, {"as many as there is room for", 2, 3, maxWindow, 2, 0, true}, {"one more", 2, 3, maxWindow + 1, 2, 0, false}, {"not read", 2, 3, 0, 2, 0, false},
	} {
		d := newWith(&limits)
		r := rand.New(rand.NewPCG(43, 44))
		for i := range c.n {
			x := 7 + 3*float64(i)/float64(c.n-1)
			d.conditions.throttle.take(series.Reading{T: x, V: 20 + c.peakToPeak/2*math.Sin(2*math.Pi*c.hz*x) + c.scatter*r.NormFloat64()}, 0)
		}
		if got := d.demandInStep(&look{t: 10, fit: fitted{hz: c.engine}}); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// Samples count in order of time, and those of one time all do; of several signals of driver demand the best
// is used: throttle, relative throttle, commanded throttle; pedal, relative pedal (SAE J1979 names).
func TestPush_Order(t *testing.T) {
	d := newWith(&limits)
	push := func(at time.Duration, s pids.Signal, v float64) {
		d.Push(pids.Sample{At: at, ECU: "7E8", Signal: s, Value: v})
	}
	push(time.Second, pids.RPM, 800)
	push(time.Second, pids.VSS, 50)
	push(time.Second-1, pids.VSS, 60)
	if v, ok := d.conditions.speed.Last(); !ok || v.V != 50 || d.books.speeds != 1 {
		t.Errorf("road speed %v, %v; of one time all samples count, and of an earlier one none", v, ok)
	}
	if push(time.Second, pids.LoadPct, 35); !d.conditions.hasLoad || d.conditions.load != (series.Reading{T: 1, V: 35}) {
		t.Errorf("load %+v, %v", d.conditions.load, d.conditions.hasLoad)
	}
	for _, c := range []struct {
		signal                pids.Signal
		value                 float64
		throttle, pedal       float64
		throttles, pedalCount int
	}{
		{tacPct, 30, 30, 0, 1, 0}, {pids.TPR, 10, 10, 0, 1, 0}, {tacPct, 31, 10, 0, 1, 0}, {pids.TP, 22, 22, 0, 1, 0}, {pids.TPR, 11, 22, 0, 1, 0}, {pids.TP, 23, 23, 0, 2, 0},
		{pids.APPR, 5, 23, 5, 2, 1}, {pids.APPR, 6, 23, 6, 2, 2}, {pids.APPD, 20, 23, 20, 2, 1}, {pids.APPR, 7, 23, 20, 2, 1},
	} {
		push(2*time.Second, c.signal, c.value)
		a, _ := d.conditions.throttle.Last()
		b, _ := d.conditions.pedal.Last()
		if len(d.conditions.throttle.All) != c.throttles || len(d.conditions.pedal.All) != c.pedalCount || a.V != c.throttle || c.pedalCount > 0 && b.V != c.pedal {
			t.Errorf("after %s %v: throttle %v, pedal %v", c.signal, c.value, d.conditions.throttle.All, d.conditions.pedal.All)
		}
	}
}

// A state holds for as long as no gap of the link follows, 1 s at 8 readings a second; and the drive ends
// with a gap where its last part was not seen.
func TestEndOfReadings(t *testing.T) {
	ms := func(n int) time.Duration { return time.Duration(n) * time.Millisecond }
	stop := [][2]float64{{2, 0}, {2.75, 0}, {2.875, 0}, {3, 0}}
	asleepThen := append(stop[:len(stop):len(stop)], [2]float64{3.5, asleep})
	for _, c := range []struct {
		name string
		then [][2]float64
		last time.Duration // that was heard
		why  Reason        // until then
	}{{"running", nil, ms(1875), Settling}, {"stopped", stop, ms(3000), EngineStopped}, {"asleep", asleepThen, ms(3500), EngineStopped}} {
		for after, gap := range map[time.Duration]bool{0: false, ms(1000): false, ms(1001): true, ms(5000): true} {
			d := running(60, c.then...)
			if got := d.Unread(c.last + after); got != gap {
				t.Errorf("%s: unread %v after %v", c.name, got, after)
			}
			d.Finish(c.last + after)
			spans := d.Spans()
			end := spans[len(spans)-1]
			want := Span{Start: spans[len(spans)-1].Start, End: c.last + after, Reason: c.why}
			if gap {
				want = Span{Start: c.last, End: c.last + after, Reason: LinkGap}
			}
			if end != want || gap && spans[len(spans)-2].Reason != c.why {
				t.Errorf("%s, ended %v later: %+v, want %+v", c.name, after, end, want)
			}
			if d.Finish(time.Hour); d.State().At != c.last+after {
				t.Errorf("%s: ended again at %v", c.name, d.State().At)
			}
		}
	}
}

// Why a look is not judged, at the limits: 5 s since a start or a gap, as many readings in 3 s as are wanted, and
// as many behind a step of the ratio or a move of the throttle.
func TestReasonAt(t *testing.T) {
	for _, c := range []struct {
		name   string
		n      int // readings in the last 3 s
		change func(d *Detector)
		want   Reason
	}{
		{"cruise", leastReadings, func(*Detector) {}, Judged},
		{"few readings", leastReadings - 1, func(*Detector) {}, TooFewReadings},
		{"stopped", 31, func(d *Detector) { d.stopw.stopped = true }, EngineStopped},
		{"5 s since a gap", 31, func(d *Detector) { d.in.started = 5 }, Judged},
		{"less", 31, func(d *Detector) { d.in.started = 5.125 }, Settling},
		{"5 s since a start", 31, func(d *Detector) { d.in.started, d.in.startedUp, d.stopw.stops = 5, 5, make([]Stop, 1) }, Judged},
		{"less, after a stop", 31, func(d *Detector) { d.in.started, d.in.startedUp, d.stopw.stops = 5.125, 5.125, make([]Stop, 1) }, Starting},
		{"a gap after the stop", 31, func(d *Detector) { d.in.started, d.in.startedUp, d.stopw.stops = 5.125, 4, make([]Stop, 1) }, Settling},
		{"a start without a stop", 31, func(d *Detector) { d.in.started, d.in.startedUp = 5.125, 5.125 }, Settling},
		{"outside the band", 31, func(d *Detector) { d.conditions.speed.Add(series.Reading{T: 10, V: 20}) }, OutsideBand},
		{"the ratio stepped", 61, func(d *Detector) { d.conditions.ratio.Add(series.Reading{T: 9.5, V: 2}) }, RatioStepped},
		{"it did lately", 31, func(d *Detector) { d.rule.steppedT = 10 }, RatioStepped},
		{"the throttle moved lately", 31, func(d *Detector) { d.rule.movedT = 9.875 }, ThrottleMoving},
		{"long enough ago", 31, func(d *Detector) { d.rule.steppedT, d.rule.movedT = 8, 8 }, Judged},
		{"the throttle moves", 31, func(d *Detector) { d.conditions.throttle.take(series.Reading{T: 10, V: 30}, 0) }, ThrottleMoving},
		{"no gears", 31, func(d *Detector) { d.conditions.stoppedAtSpeed = 2 }, NotTied},
	} {
		d := newWith(&limits)
		d.in.started = -9
		d.conditions.speed.Add(series.Reading{T: 9, V: 60})
		d.conditions.throttle.take(series.Reading{T: 9, V: 20}, 0)
		for i := range c.n {
			d.in.rpm.Add(series.Reading{T: 7 + 3*float64(i)/float64(c.n-1), V: 1700})
		}
		c.change(d)
		d.rule.lookT = 9.75
		if got := d.reasonAt(&look{t: 10}); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
		moves := c.name == "the throttle moves"
		if steady := d.conditions.steady; steady != map[bool]float64{true: 0.25}[c.want == Judged || c.want == NotTied || c.name == "the ratio stepped"] || d.rule.movedT == 10 != moves {
			t.Errorf("%s: %v s of steady time, moved at %v s", c.name, steady, d.rule.movedT)
		}
	}
}

// The limit of a look follows the floor of its load from the least swing on; it is half as large again where there
// is no throttle, and a swing that would have been seen is larger than it. While twice as many looks as a floor
// needs were not under this load, it is the load that is new.
func TestMeasure(t *testing.T) {
	quiet := cruise(40, 10, func(float64) float64 { return 0 })
	for _, c := range []struct {
		looks int
		want  Reason
	}{{2*int(limits.FloorLooks) - 1, FloorNotLearnt}, {2 * int(limits.FloorLooks), LoadNotLearnt}} { // and this one
		d := newWith(&limits)
		for _, s := range quiet {
			d.Push(s)
		}
		d.floor = floor{kept: c.looks}
		if d.look(d.in.lastT); d.State().Reason != c.want || !math.IsNaN(d.State().LimitRPM) || !math.IsNaN(d.State().SmallestRPM) {
			t.Errorf("after %d looks: %+v, want %v", c.looks+1, d.State(), c.want)
		}
	}
	limit := func(bin int, throttle bool) (float64, float64) {
		d := newWith(&limits)
		for _, s := range quiet {
			d.Push(s)
		}
		d.floor = floor{}
		for range 40 {
			for load := range loadBins {
				d.floor.steady.keep(&floorLook{load: load, size: all(bin)})
			}
		}
		if !throttle {
			d.conditions.throttle = newDemandTrack()
		}
		d.look(d.in.lastT)
		if d.State().Reason != Judged {
			t.Fatalf("%v", d.State().Reason)
		}
		return d.State().LimitRPM, d.State().SmallestRPM
	}
	low, seen := limit(0, true)
	if low != limits.LeastRPM || seen <= smallestMore*low || seen > 1.5*low { // few readings show less of it
		t.Errorf("a smooth car has a limit of %v rpm, and %v would be seen", low, seen)
	}
	if without, _ := limit(0, false); without != noDemandMore*low {
		t.Errorf("%v rpm without a throttle, %v with it", without, low)
	}
	rough, seen := limit(45, true)
	if rougher, more := limit(50, true); !(math.Abs(rougher/rough-math.Exp(5*sizeBin)) <= 1e-9) || !(math.Abs(more/seen-rougher/rough) <= 1e-9) || seen <= rough {
		t.Errorf("five bins rougher: limit %v to %v, seen %v to %v rpm", rough, rougher, seen, more)
	}
}

// Five readings have an r.m.s. about a parabola, four have not; and a look that is judged is one in steady cruise.
func TestMeasure_Floor(t *testing.T) {
	for _, c := range []struct {
		n    int
		why  Reason
		want bool
	}{{4, SpeedChanging, false}, {5, SpeedChanging, true}, {12, SpeedChanging, true}, {12, Judged, true}} {
		d := newWith(&limits)
		d.conditions.speed.Add(series.Reading{T: 10, V: 60})
		for i := range c.n {
			d.in.rpm.Add(series.Reading{T: 10 - float64(c.n-1-i)/8, V: 1700 + float64(i%2)})
		}
		e := newLook(10)
		d.measure(&e, c.why)
		if math.IsNaN(e.rms) == c.want || c.want && (!(e.rms > 0) || d.floor.n != 1 || d.floor.wait[0].steady != (c.why == Judged)) {
			t.Errorf("%+v: %v rpm, %d looks: %+v", c, e.rms, d.floor.n, d.floor.wait[0])
		}
	}
}

// A look that shows a wave teaches the size and the colour of what the wave leaves; never more than engine
// speed does.
func TestLearn_Wave(t *testing.T) {
	r := rand.New(rand.NewPCG(45, 46))
	w := make([]series.Reading, 17)
	for i := range w {
		w[i] = series.Reading{T: 98.4 + 0.1*float64(i), V: 1700 + 50*math.Sin(2*math.Pi*0.2*float64(i)) + 3*r.NormFloat64()}
	}
	bin := func(x float64) int { return int(math.Log(x/sizeLow) / sizeBin) }
	learnt := func(x selfShown) floorLook {
		d := newWith(&limits)
		d.conditions.speed.Add(series.Reading{T: 99, V: 60})
		for i := range 20 { // rough before it
			d.in.rpm.Add(series.Reading{T: 96.4 + 0.1*float64(i), V: 1700 + 400*float64(i%2)})
		}
		for _, r := range w {
			d.in.rpm.Add(r)
		}
		d.learn(&look{t: 100, shown: x}, 40, w, true)
		return d.floor.wait[0]
	}
	const quickest = colours - 1
	all := learnt(selfShown{})
	if all.size[quickest] < bin(25) {
		t.Errorf("without a wave: %+v", all)
	}
	left := learnt(selfShown{from: 98.4, wave: fitted{span: 1.6, hz: 2, shape: drifting}})
	if left.size[quickest] > bin(6) {
		t.Errorf("the wave leaves 3 rpm: %+v", left)
	}
	for k := range quickest { // the scatter is white: the quickest colour is the likeliest
		if left.likely[k] >= left.likely[quickest] {
			t.Errorf("colour %d is as likely as the quickest: %v", k, left.likely)
		}
	}
	if more := learnt(selfShown{from: 96.35, wave: fitted{span: 3.6, hz: 2, shape: drifting}}); more.size != all.size {
		t.Errorf("a wave that leaves more than engine speed does now: %+v", more)
	}
}

// A look that shows a wave and is no alarm yet is shaking; the throttle has been steady since it last moved or was
// closed.
func TestSetState(t *testing.T) {
	d := newWith(&limits)
	d.conditions.throttle.take(series.Reading{T: 9, V: 20}, 0)
	d.seen.slow, d.seen.hz = true, 0.5
	d.setState(&look{t: 10, passed: true}, Judged, false)
	if s := d.State(); !s.Shaking || s.Alarmed || s.SlowHz != 0.5 || s.SteadyFor != 0 {
		t.Errorf("%+v", s)
	}
	d.seen.slow = false
	d.setState(&look{t: 12, passed: true}, Judged, true)
	if s := d.State(); s.Shaking || !s.Alarmed || s.SlowHz != 0 || s.SteadyFor != 2*time.Second {
		t.Errorf("%+v", s)
	}
	d.setState(&look{t: 13}, ClosedThrottle, false)
	d.setState(&look{t: 14}, SpeedChanging, false)
	if s := d.State(); s.Shaking || s.SteadyFor != time.Second {
		t.Errorf("%+v", s)
	}
	d.conditions.throttle.take(series.Reading{T: 15, V: 30}, 0)
	if d.setState(&look{t: 15}, SpeedChanging, false); d.State().SteadyFor != 0 {
		t.Errorf("%+v", d.State())
	}
}

// What a wave leaves is what least squares by gonum leave, and the likelihood counts the determinant of the
// same columns.
func TestLeftBy_LeastSquares(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 52))
	w := make([]series.Reading, 24)
	at := 0.0
	for i := range w {
		at += 0.05 + 0.1*r.Float64()
		w[i] = series.Reading{T: at, V: 1700 + 8*at + 40*math.Sin(2*math.Pi*1.7*at) + 5*r.NormFloat64()}
	}
	var x window
	x.load(w, &white)
	for _, kind := range []shape{plain, drifting, harmonic} {
		cols := 3 + kind.columns()
		a, v := mat.NewDense(len(w), cols, nil), mat.NewVecDense(len(w), nil)
		x.aim(1.8, 0)
		for i := range w {
			raw := x.column(i)
			a.SetRow(i, append([]float64{1, x.t[i], x.t[i] * x.t[i]}, raw[:kind.columns()]...))
			v.SetVec(i, w[i].V-w[0].V)
		}
		var fit, rest mat.VecDense
		if err := fit.SolveVec(a, v); err != nil {
			t.Fatal(err)
		}
		rest.MulVec(a, &fit)
		rest.SubVec(v, &rest)
		var gram mat.Dense
		gram.Mul(a.T(), a)
		logDet, _ := mat.LogDet(&gram)
		left, spare := mat.Dot(&rest, &rest), float64(len(w)-cols)
		rms, likely := x.leftBy(1.8, kind)
		if want := math.Sqrt(left / spare); math.Abs(rms-want) > 1e-6*want {
			t.Errorf("%d columns leave %v rpm, gonum %v", cols, rms, want)
		}
		if want := likelihoodOf(left, spare, logDet); math.Abs(likely-want) > 1e-5*math.Abs(want) {
			t.Errorf("%d columns: likelihood %v, gonum %v", cols, likely, want)
		}
	}
}
