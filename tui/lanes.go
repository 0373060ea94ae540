package tui

import (
	"cmp"
	"math"
	"slices"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// laneOrder is the order of the lanes: what the detector uses first. Others follow by name.
var laneOrder = []pids.Signal{
	pids.RPM, pids.VSS, pids.TP, pids.APPD, pids.LoadPct, pids.ECT, pids.TPR, pids.APPR, pids.MAP, pids.LoadAbs, pids.VPWR,
}

// laneID is what distinguishes lanes: a signal may come from several control units.
type laneID struct {
	signal pids.Signal
	ecu    string
}

func idOf(l *session.Lane) laneID { return laneID{l.Signal, l.ECU} }

// sortedLanes returns the lanes in their order on the screen: first each signal from its
// first control unit, then what others send of the same. dst is reused.
func sortedLanes(dst []*session.Lane, s *session.Snapshot) []*session.Lane {
	dst = dst[:0]
	for i := range s.Lanes {
		dst = append(dst, &s.Lanes[i])
	}
	slices.SortStableFunc(dst, func(a, b *session.Lane) int {
		return cmp.Or(second(a, s)-second(b, s), cmp.Compare(laneRank(a), laneRank(b)),
			cmp.Compare(a.Signal, b.Signal), cmp.Compare(a.ECU, b.ECU))
	})
	return dst
}

// second is 1 for a lane when a control unit of a lower address sends its signal too,
// else 0.
func second(l *session.Lane, s *session.Snapshot) int {
	for i := range s.Lanes {
		if o := &s.Lanes[i]; o.Signal == l.Signal && o.ECU < l.ECU {
			return 1
		}
	}
	return 0
}

// laneRank is the place of a lane. Converter slip comes right under engine speed.
func laneRank(l *session.Lane) int {
	if l.Role == vehicle.RoleSlip {
		return 1
	}
	if i := slices.Index(laneOrder, l.Signal); i >= 0 {
		return 2 * i
	}
	return 2 * len(laneOrder)
}

// wantedSlip is the slip that the controller aims at, read lately; ok is false when it is not
// read at all, and the value NaN when it has gone stale.
func wantedSlip(s *session.Snapshot) (rpm float64, ok bool) {
	for i := range s.Lanes {
		l := &s.Lanes[i]
		if l.Role != vehicle.RoleWantedSlip {
			continue
		}
		if s.Now-l.At > max(holdTime(l.History), 3*time.Second) {
			return math.NaN(), true
		}
		return l.Value, true
	}
	return 0, false
}

// findLane returns the lane of a signal with the most readings, nil when there is none.
func findLane(s *session.Snapshot, signal pids.Signal) *session.Lane {
	var found *session.Lane
	for i := range s.Lanes {
		l := &s.Lanes[i]
		if l.Signal == signal && (found == nil || len(l.History) > len(found.History)) {
			found = l
		}
	}
	return found
}

// plainNames are the everyday words for the signals that are on the screen most, as long as a label.
var plainNames = map[pids.Signal]string{
	pids.RPM: "rpm", pids.VSS: "speed", pids.TP: "throttle", pids.APPD: "pedal", pids.LoadPct: "load", pids.ECT: "coolant",
	pids.VPWR: "voltage", pids.GearAct: "gear", pids.GearRat: "ratio", pids.MAP: "manifold", "MAF": "air flow", "IAT": "intake", "AAT": "outside",
}

// plainName is the everyday word for a signal, or else its acronym.
func plainName(s pids.Signal) string { return cmp.Or(plainNames[s], string(s)) }

// laneName is a lane's name in w cells, with the address of the control unit where it is not
// the first that sends the signal.
func laneName(l *session.Lane, name string, s *session.Snapshot, w int) string {
	name = prose.Clean(name)
	if second(l, s) == 0 {
		return left(name, w)
	}
	ecu := cut(prose.Clean(l.ECU), w/2)
	return left(cut(name, w-prose.Cells(ecu)-1)+" "+ecu, w)
}
