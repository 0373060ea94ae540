package steps

// fullWatch looks for a throttle or pedal that is pressed well down.
type fullWatch struct {
	stretch
	rpm, most float64 // before, and the highest meanwhile
	fullT     float64 // s, it is full since
}

func (f *fullWatch) reset() { *f = fullWatch{stretch: noStretch()} }

// Full throttle.
const (
	fullFrom  = 75. // % (published: heavy about 75, wide open 100)
	fullLeast = 0.7 // s
	fullKMH   = 20.
)

func (w *Watch) lookFull(t float64) {
	f := &w.full
	f.measure(w, t)
	rpm, v, ok := w.now(t)
	demand := w.in.demand()
	if demand == nil || !ok {
		w.endFull(t)
		return
	}
	last, _ := demand.Last()
	switch {
	case last.V < fullFrom:
		w.endFull(t)
	case !f.on():
		if v >= fullKMH {
			start := demand.pressedT(last.T)
			*f = fullWatch{stretch: w.begin(start, start, v, last.T+kickdown), rpm: w.in.meanRPM(start-1, start), fullT: last.T, most: rpm}
		}
	default:
		f.most = max(f.most, rpm)
	}
}

// A foot takes at most footMoves s to press: the swing before is that before it moved. A gearbox shifts
// down within about kickdown s (chosen; a change comes within 1 to 2 s of its command).
const (
	footMoves = 2.0
	footLeast = 5.0 // % that count as moved
	kickdown  = 1.0
)

// pressedT is when the foot began to press a demand that is full at t.
func (k *demandTrack) pressedT(t float64) float64 {
	r := between(&k.Track, t-footMoves, t)
	for i := range r {
		if r[i].V > r[0].V+footLeast {
			return r[max(i-1, 0)].T
		}
	}
	return t
}

func (w *Watch) endFull(t float64) {
	f := &w.full
	if t-f.fullT >= fullLeast && f.on() {
		w.ended(&f.stretch, FullThrottle, t, f.most-f.rpm)
	}
	f.reset()
}
