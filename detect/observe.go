package detect

// seen collects what is not shudder.
type seen struct {
	all  []Observation
	open [kindCount]int // index+1 of the open observation of each kind
}

const kindCount = 4

// add notes what an evaluation shows beside shudder.
func (s *seen) add(e *evaluation, irregular bool, join float64) {
	switch {
	case e.over && e.slow:
		s.note(SlowSwing, e, join)
	case irregular:
		s.note(IrregularScatter, e, join)
	}
}

func (s *seen) note(kind ObservationKind, e *evaluation, join float64) {
	if i := s.open[kind]; i > 0 {
		o := &s.all[i-1]
		if e.first-o.End.Seconds() <= join {
			o.End = max(o.End, seconds(e.last))
			o.SwingRPM = max(o.SwingRPM, e.swing)
			return
		}
	}
	s.all = append(s.all, Observation{Start: seconds(e.first), End: seconds(e.last), Kind: kind, SwingRPM: e.swing})
	s.open[kind] = len(s.all)
}

func (s *seen) finish() { s.open = [kindCount]int{} }
