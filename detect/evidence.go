package detect

import (
	"math"

	"github.com/judder-obd/judder/detect/series"
)

// windowsAt is how many windows end at each look. Where readings are scarce there is one more, of
// 5.9 s (bench: about an eighth more bursts at 3 readings a second).
func windowsAt(rate float64) int {
	if rate < slowRate {
		return 6
	}
	return 5
}

// look is one look at the windows that end at t.
type look struct {
	t           float64
	shown       selfShown // the wave that the readings show by themselves
	readings    int       // in the last 3 s
	usual       float64   // rpm, size of the scatter under this load; NaN when not known
	colour      int       // of the scatter under this load
	rms         float64   // rpm r.m.s. about a parabola now, over the span of the floor
	limit       float64   // rpm peak to peak that the wave must have
	smallest    float64   // rpm, smallest swing that would be found half of the time
	swing       float64   // rpm peak to peak: of the wave, else of all that is about the parabola
	fit         fitted    // of the window that shows most
	margin      float64   // nats beyond what the rule wants
	passed      bool      // it has what the rule wants
	inStep      bool      // the driver's demand swings at the same frequency
	first, last float64   // s, of the swing
	size        float64   // rpm, of the swing
	fresh       int       // readings of the swing that no look before counted
}

// selfShown is a wave that the readings of a window show by themselves, so that the floor learns what it
// leaves.
type selfShown struct {
	from float64 // s, the first reading of the window
	wave fitted  // none where its span is 0
}

// visible is how large, rpm peak to peak, a wave is in this scatter that is found half of the time; NaN
// while the floor is not known.
func (e *look) visible() float64 { return halfSeen * sineRatio * e.usual }

// fitted is one window explained twice.
type fitted struct {
	span     float64 // s
	hz       float64
	shape    shape
	wave     float64 // rpm peak to peak, were it even all over the window
	left     float64 // rpm r.m.s. that the wave leaves
	evidence float64 // nats, with the scatter as floor and readings before tell it
	free     float64 // nats, with the scatter unknown
	beside   float64 // nats, the same without the blow that gives most of them
	healthy  healthy // the healthy explanation that is best
	cycles   float64
	wanted   float64 // nats that the rule wants of the evidence
}

// healthy is an explanation of a window without shudder.
type healthy uint8

// The healthy explanations, each with a parabola.
const (
	parabola healthy = iota
	slowlyWaving
	step
)

var healthyWords = [...]string{parabola: "parabola", slowlyWaving: "slow wave", step: "step"}

func (h healthy) String() string { return healthyWords[h] }

// slowLess is by how much less evidence is wanted at slowestRate, nats, and falls to nothing at
// slowRate: few readings hold little (bench).
const (
	slowLess    = 3
	slowestRate = 3
)

// wantedAt is the evidence that the rule wants where engine speed is read at a rate, nats.
func (th *Tuning) wantedAt(rate float64) float64 {
	return th.Wanted - slowLess*clampTo((slowRate-rate)/(slowRate-slowestRate), 0, 1)
}

// margin is by how much a window has more than the rule wants; below 0 it has less.
func (f *fitted) margin(th *Tuning) float64 {
	return min(f.evidence-f.wanted, f.beside-th.Beside)
}

// weigher gives log-likelihood ratios of shaking against another explanation of the same window, by
// what each leaves of the sum of squares.
type weigher struct {
	spare   float64 // readings beyond the parameters
	worth   float64 // readings' worth of what tells the scatter beside them
	prior   float64 // their sum of squares
	shaking float64 // what shaking leaves
}

// tell takes in what so many readings' worth of something else say of the scatter.
func (w *weigher) tell(worth, sum float64) { w.worth, w.prior = w.worth+worth, w.prior+sum }

// tiny keeps logarithms of what is explained without rest finite.
const tiny = 1e-9

// known is the ratio with the scatter as it is known, nats.
func (w *weigher) known(q float64) float64 {
	return (w.spare + w.worth) / 2 * math.Log((q+w.prior+tiny)/(w.shaking+w.prior+tiny))
}

// free is the ratio with the scatter unknown, nats.
func (w *weigher) free(q float64) float64 {
	return w.spare / 2 * math.Log((q+tiny)/(w.shaking+tiny))
}

// against takes another healthy explanation that leaves q.
func (f *fitted) against(w *weigher, q float64, name healthy) {
	if e := w.known(q); e < f.evidence {
		f.evidence, f.healthy = e, name
	}
	f.free = min(f.free, w.free(q))
}

// beforeParameters are those of the readings before a window: a parabola, and a wave of the window's
// frequency, which may have been there before and drifts.
const beforeParameters = 7

// ownWave is the evidence of its own, nats, from which a window shows a wave that the floor does not learn
// (bench).
const ownWave = 5

// showsItself reports whether the readings of a window show a wave whatever the floor is.
func (f *fitted) showsItself(th *Tuning) bool { return f.free >= ownWave && f.wave >= th.LeastRPM }

// hopeless is taken off the evidence of a window that a parabola explains well enough, nats: the
// other healthy explanations can only be better, and are not tried.
const hopeless = 20

// explain weighs a loaded window; see the package comment. usual is the floor, NaN when not known; before
// are the readings before the window; rest is scratch memory.
func (w *window) explain(th *Tuning, usual, rate float64, before []series.Reading, rest *window) fitted {
	top, kind := w.shaking(th, rate)
	parameters := 3 + float64(kind.columns())
	weigh := weigher{spare: max(1, float64(w.n)-parameters), shaking: w.total - top.part}
	if !math.IsNaN(usual) {
		weigh.tell(th.FloorWorth, th.FloorWorth*usual*usual)
	}
	most := weigh // were the run before without any scatter
	most.tell(float64(max(0, len(before)-beforeParameters)), 0)
	if len(before) > beforeParameters && most.known(w.total) >= th.wantedAt(rate) {
		rest.load(before, w.noise)
		rest.aim(top.hz, 0)
		weigh.tell(float64(rest.n-beforeParameters), rest.total-rest.explained(drifting))
	}
	f := fitted{span: w.span, hz: top.hz, shape: kind, cycles: top.hz * w.span, left: math.Sqrt(weigh.shaking / weigh.spare), wanted: th.wantedAt(rate)}
	shown := averaged(top.hz, averagedUpTo) * meanOf(top.hz, 1/rate, th.Near)
	f.wave = min(w.swing(top.hz, kind), mostHidden*reach(w.read[:w.n])) / max(leastShown, shown)
	f.evidence, f.free, f.beside = weigh.known(w.total), weigh.free(w.total), th.Beside
	if f.margin(th) < 0 && !f.showsItself(th) {
		f.evidence, f.free = f.evidence-hopeless, f.free-hopeless
		return f
	}
	f.against(&weigh, w.total-w.best(slowestHz, th.SlowHz, drifting).part, slowlyWaving)
	f.against(&weigh, w.total-w.steps(1), step)
	if f.margin(th) >= 0 {
		w.solveFor(top.hz, kind)
		f.beside = w.besideBlow(max(th.BlowSeconds, th.BlowCycles/top.hz), weigh, rest)
	}
	return f
}

// shaking returns the wave that explains most, and its shape: it drifts, and has a second harmonic where
// there are four readings to a cycle.
func (w *window) shaking(th *Tuning, rate float64) (wave, shape) {
	low, dense := max(th.LowHz, leastTurns/w.span), rate/4
	top := w.best(low, min(th.HighHz, dense), harmonic)
	if quick := w.best(max(low, dense), th.HighHz, drifting); quick.part > top.part {
		return quick, drifting
	}
	return top, harmonic
}

// leastTurns is how many cycles a window holds of the slowest wave that is tried (chosen).
const leastTurns = 1.5

// slowestHz is the slowest wave that is fitted: surge is 0.1 to 2 Hz in the trade.
const slowestHz = 0.2

// averaged is the share of a swing that is left when the ECU averages engine
// speed over a span: |sin(π·f·span)/(π·f·span)|.
func averaged(hz, span float64) float64 {
	x := math.Pi * hz * span
	if x < 1e-6 {
		return 1
	}
	return math.Abs(math.Sin(x) / x)
}

func clampTo(x, low, high float64) float64 { return max(low, min(high, x)) }
