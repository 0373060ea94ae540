package session

import (
	"judder/detect"
	"judder/pids"
)

// rollingKMH is the road speed above which a car with a stopped engine rolls; the detector's own.
const rollingKMH = 3

// rolls notes that the car rolls while its engine has not been seen to run yet. The detector
// leaves open how such a stop came about and tells it as off.
func (a *Analysis) rolls(s *pids.Sample) {
	if s.Signal != pids.VSS || !(s.Value > rollingKMH) || a.detector.State().Reason != detect.EngineStopped {
		return
	}
	stops := a.detector.Stops()
	a.rolled = a.rolled || len(stops) == 1 && stops[0].FromStart
}

// stops are the detector's, with a stop since the beginning told as rolling where the car rolled.
func (a *Analysis) stops() []detect.Stop {
	stops := a.detector.Stops()
	if !a.rolled {
		return stops
	}
	told := append([]detect.Stop(nil), stops...)
	told[0].Kind = detect.StopRolling
	return told
}

// StopWords are a stop for a person: "engine stop (rolling)", "engine off since the beginning, car
// rolling".
func StopWords(s detect.Stop) string {
	if s.FromStart && s.Kind == detect.StopRolling {
		return s.Words() + ", car rolling"
	}
	return s.Words()
}
