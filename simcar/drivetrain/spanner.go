package drivetrain

import (
	"time"
)

// spanner keeps one span open while its cause goes on and closes it when nothing came
// for gap seconds.
type spanner struct {
	kind      SpanKind
	gap       float64
	on        bool
	span      Span
	last      time.Duration
	low, high float64
	ticks     int
	calm      int
}

// alive notes that the cause acted now.
func (s *spanner) alive(w *world) {
	now := w.now()
	if !s.on {
		s.on, s.low, s.high = true, 0, 0
		s.span = Span{Kind: s.kind, Start: now, SpeedKMH: 3.6 * w.speed, Gear: int(w.gear)}
		s.ticks, s.calm = 0, 0
	}
	s.last = now
}

// see notes the component of engine speed that it causes.
func (s *spanner) see(rpm float64) {
	s.low, s.high = min(s.low, rpm), max(s.high, rpm)
}

func (s *spanner) tick(w *world) {
	if !s.on {
		return
	}
	s.ticks++
	if w.driver.calm.seconds >= 1 {
		s.calm++
	}
	if (w.now() - s.last).Seconds() > s.gap {
		span, _ := s.open()
		w.spans = append(w.spans, span)
		s.on = false
	}
}

func (s *spanner) open() (Span, bool) {
	span := s.span
	span.End, span.SwingRPM = s.last, s.high-s.low
	span.CalmShare = float64(s.calm) / float64(max(s.ticks, 1))
	span.SteadyFoot = s.ticks > 0 && s.calm == s.ticks
	return span, s.on
}
