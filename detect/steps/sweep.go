package steps

// sweepWatch looks for engine speed that is raised at standstill.
type sweepWatch struct {
	stretch
	most float64 // rpm
}

func (s *sweepWatch) reset() { *s = sweepWatch{stretch: noStretch()} }

// A sweep in park.
const (
	sweepOver   = 300.  // rpm above idle
	sweepMost   = 1500. // rpm that it reaches
	sweepLeastS = 3.0   // s (a blip is shorter)
)

func (w *Watch) lookSweep(t float64) {
	s := &w.sweep
	s.measure(w, t)
	rpm, v, ok := w.now(t)
	raised := ok && v < 1 && w.idle > 0 && rpm > w.idle+sweepOver
	switch {
	case !raised && ok && v >= 1:
		s.reset() // it drove off
	case !raised:
		w.endSweep(t)
	case !s.on():
		*s = sweepWatch{stretch: w.begin(t, t-1, v, t), most: rpm}
	default:
		s.most = max(s.most, rpm)
	}
}

func (w *Watch) endSweep(t float64) {
	s := &w.sweep
	if t-s.from >= sweepLeastS && s.most >= sweepMost {
		w.ended(&s.stretch, ParkSweep, t, s.most-w.idle)
	}
	s.reset()
}
