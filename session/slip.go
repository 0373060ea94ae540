package session

import (
	"math"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/slip"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
)

// Lanes that are computed, not read. Their names are in small letters, which neither the
// standard nor a vehicle profile has, so that they cannot be taken for a reading.
const (
	LaneSlip     pids.Signal = "slip"     // engine speed less turbine speed, rpm
	LaneApparent pids.Signal = "est.slip" // engine speed less the locked one of the gear read, rpm
)

// slipping is what a session knows of converter slip: read with a vehicle profile, or
// apparent, from engine speed, road speed and gear.
type slipping struct {
	roles    map[pids.Signal]vehicle.Role // of the profile's signals
	watch    *slip.Watch
	apparent *slip.Apparent
	read     bool // the profile has slip or turbine speed: apparent slip is not watched
	turbine  bool // the profile has turbine speed alone
}

func newSlipping(profile *vehicle.Profile) slipping {
	s := slipping{watch: slip.NewWatch(), roles: map[pids.Signal]vehicle.Role{}}
	var line slip.Driveline
	if profile != nil {
		v := &profile.Driveline
		line = slip.Driveline{FinalDrive: v.FinalDrive, TyreM: v.TyreCircumference(), Gears: v.Gears}
		has := map[vehicle.Role]bool{}
		for i := range profile.Parameters {
			p := &profile.Parameters[i]
			s.roles[p.Signal] = p.Role
			has[p.Role] = true
		}
		s.turbine = has[vehicle.RoleTurbineSpeed] && !has[vehicle.RoleSlip]
		s.read = has[vehicle.RoleSlip] || s.turbine
	}
	s.apparent = slip.NewApparent(line)
	return s
}

// push takes a sample with how the detector saw this moment.
func (s *slipping) push(x pids.Sample, why detect.Reason) {
	role := s.roles[x.Signal]
	s.apparent.Push(x, role, why)
	switch {
	case !s.read:
		s.watch.PushApparent(x, s.apparent.Now(), why)
	case role != vehicle.RoleTurbineSpeed || s.turbine: // slip that is read goes before turbine speed
		s.watch.Push(x, role, why)
	}
}

// computed is the newest point of a lane that is computed; ok is false while there is none.
func (s *slipping) computed() (signal pids.Signal, p Point, ok bool) {
	if s.turbine {
		at, rpm, ok := s.watch.Now()
		return LaneSlip, Point{at, rpm}, ok
	}
	now := s.apparent.Now()
	return LaneApparent, Point{now.At, now.SlipRPM}, !s.read && now.GearKnown
}

// computedNames are the names of the lanes that are computed.
var computedNames = map[pids.Signal]string{
	LaneSlip:     "engine less turbine speed",
	LaneApparent: "estimated slip, by gear",
}

// addComputed puts the newest point of a computed lane on the board, once. A lane that is
// there and has become unknown gets a gap.
func (b *board) addComputed(a *Analysis) {
	signal, p, ok := a.slip.computed()
	if !ok {
		if l := b.computed; l != nil && !math.IsNaN(l.Value) && a.end-l.At > time.Second {
			p = Point{a.end, math.NaN()}
			l.Value, l.At = p.Value, p.At
			l.points.add(p)
		}
		return
	}
	if b.computed == nil {
		b.computed = b.lane("", signal, a)
		b.computed.Name, b.computed.Unit, b.computed.Role = computedNames[signal], "rpm", vehicle.RoleSlip
	}
	if l := b.computed; p.At > l.At {
		l.Value, l.At = p.Value, p.At
		l.points.add(p)
	}
}
