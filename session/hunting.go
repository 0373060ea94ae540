package session

import (
	"time"

	"github.com/judder-obd/judder/detect"
)

// gearAround is how far from a stretch of hunting a change of gear still belongs to it (chosen; a car
// reports its gear less often than its engine speed).
const gearAround = 2 * time.Second

// huntingLeast is how many changes of a gear that is reported make hunting: the detector notes it from
// five steps of the ratio on, and a change may be missed (chosen; in simulated hunting 5 to 19 changes
// were reported, in lock-up cycling mostly 0 to 2).
const huntingLeast = 4

// observations copies what the detector noted to dst. The detector sees the ratio of engine to road
// speed change again and again; where the car reported its gear and too few changes of it, it was the
// converter clutch that changed it.
func (a *Analysis) observations(dst []detect.Observation) []detect.Observation {
	dst = append(dst[:0], a.detector.Observations()...)
	for i := range dst {
		if o := &dst[i]; o.Kind == detect.GearHunting && a.steps.second.keptGear(o.Start-gearAround, o.End+gearAround) {
			o.Kind = detect.LockUpCycling
		}
	}
	return joined(dst)
}

// joined makes one of lock-up cycling that overlaps: the same steps may have been noted as two kinds.
func joined(all []detect.Observation) []detect.Observation {
	out, last := all[:0], -1
	for _, o := range all {
		if o.Kind == detect.LockUpCycling && last >= 0 && o.Start <= out[last].End && o.End >= out[last].Start {
			l := &out[last]
			l.Start, l.End, l.SwingRPM = min(l.Start, o.Start), max(l.End, o.End), max(l.SwingRPM, o.SwingRPM)
			continue
		}
		if out = append(out, o); o.Kind == detect.LockUpCycling {
			last = len(out) - 1
		}
	}
	return out
}

// keptGear reports whether the car reported its gear between two times, and too few changes of it for
// hunting.
func (s *seconds) keptGear(start, end time.Duration) bool {
	changes := 0
	for _, at := range s.changes {
		if at >= start && at <= end {
			changes++
		}
	}
	if changes >= huntingLeast {
		return false
	}
	all := s.span(start, end)
	for i := range all {
		if all[i].gear != 0 {
			return true
		}
	}
	return false
}
