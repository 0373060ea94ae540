package detect

import "math"

// windowCount is how many windows end at each look.
const windowCount = 5

// look is one look at the windows that end at t.
type look struct {
	scatter float64 // rpm r.m.s. that a wave leaves which the readings themselves show; NaN without

	t           float64
	readings    int     // in the last 3 s
	usual       float64 // rpm r.m.s. about a parabola, of this load; NaN when not known
	rms         float64 // rpm, the same now, over the span of the floor
	limit       float64 // rpm peak to peak that the wave must have
	smallest    float64 // rpm, smallest swing that would be found half of the time
	swing       float64 // rpm peak to peak: of the wave, else of all that is about the parabola
	fit         fitted  // of the window that shows most
	margin      float64 // nats beyond what the rule wants
	passed      bool    // it has what the rule wants
	inStep      bool    // the driver's demand swings at the same frequency
	first, last float64 // s, of the swing
	size        float64 // rpm, of the swing
	fresh       int     // readings of the swing that no look before counted
}

// fitted is one window explained twice.
type fitted struct {
	span     float64 // s
	hz       float64
	wave     float64 // rpm peak to peak, were it even all over the window
	left     float64 // rpm r.m.s. that the wave leaves
	evidence float64 // nats, with the floor's scatter
	free     float64 // nats, with the scatter unknown
	healthy  healthy // the healthy explanation that is best
	cycles   float64
}

// healthy is an explanation of a window without shudder.
type healthy uint8

// The healthy explanations, each with a parabola.
const (
	parabola healthy = iota
	slowlyWaving
	steps
)

var healthyWords = [...]string{parabola: "parabola", slowlyWaving: "slow wave", steps: "steps"}

func (h healthy) String() string { return healthyWords[h] }

// margin is by how much a window has more than the rule wants; below 0 it has less.
func (f *fitted) margin(th *Tuning) float64 {
	return min(f.evidence-th.Wanted, f.free-th.WantedFree)
}

// explain weighs a loaded window. Healthy is a parabola, a parabola and a slow wave, or a parabola
// and one to three steps; shaking is a parabola and a wave that drifts or has a second harmonic.
// The evidence is the log-likelihood ratio of shaking against the best healthy explanation; with
// N readings of which m are independent, sums of squares Q and the floor u:
//
//	E = (m − 7 + 12)/2 · ln((m/N·Qh + 12u²) / (m/N·Qs + 12u²))
//	E' = (m − 7)/2 · ln(Qh/Qs)
func (w *window) explain(th *Tuning, usual, rate float64, even bool) fitted {
	free := max(1, float64(w.n)-7)
	low := max(th.LowHz, 1.5/w.span)
	kind := drifting
	top := w.best(low, th.HighHz, drifting)
	if saw := w.best(low, min(th.HighHz, rate/4), harmonic); saw.part > top.part {
		top, kind = saw, harmonic
	}
	shaking := w.total - top.part
	f := fitted{span: w.span, hz: top.hz, wave: w.swing(top.hz, kind), left: math.Sqrt(shaking / float64(max(1, w.n-7)))}
	prior := 0.0
	if !math.IsNaN(usual) {
		prior = th.FloorWorth * usual * usual
	}
	known := func(q float64) float64 {
		return (free + th.FloorWorth) / 2 * math.Log((q+prior+1e-9)/(shaking+prior+1e-9))
	}
	unknown := func(q float64) float64 { return free / 2 * math.Log((q+1e-9)/(shaking+1e-9)) }
	f.evidence, f.free = known(w.total), unknown(w.total)
	against := func(q, price float64, name healthy) {
		e := known(q) + price
		if e < f.evidence {
			f.evidence, f.healthy = e, name
		}
		f.free = min(f.free, unknown(q)+price)
	}
	if f.margin(th) < 0 {
		f.free -= 20
		f.evidence -= 20
		return f
	}
	against(w.total-w.best(slowestHz, th.SlowHz, plain).part, 0, slowlyWaving)
	for k, part := range w.steps() {
		against(w.total-part, float64(k)*th.StepPrice, steps)
	}
	hz := f.hz
	if even {
		hz = min(hz, math.Abs(hz-math.Round(hz/rate)*rate))
	}
	f.cycles = hz * w.span
	price := th.SlowPrice * (max(0, math.Log(th.Cycles/max(f.cycles, 0.5))) + max(0, math.Log(th.RedHz/max(hz, 0.3))))
	f.free -= price
	f.evidence -= price + th.SlowLinkPrice*clampTo(math.Log2(10/max(rate, 1)), 0, 1)
	return f
}

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
