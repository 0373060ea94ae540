package schedule

import (
	"strings"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids/vehicle"
)

// Side requests go to one ECU by its physical address, between the requests for engine speed:
// the parameters of a vehicle profile, read by service 22, and what another ECU than the one that
// is asked alone reports.

// rolePeriods are how often a parameter is wanted: what moves with the clutch as often as
// a swing of 1 Hz needs, temperatures seldom. Common practice, no source.
var rolePeriods = map[vehicle.Role]time.Duration{
	vehicle.RoleSlip: 200 * time.Millisecond, vehicle.RoleTurbineSpeed: 200 * time.Millisecond,
	vehicle.RoleWantedSlip: 500 * time.Millisecond, vehicle.RoleClutchState: 500 * time.Millisecond,
	vehicle.RoleGear: 500 * time.Millisecond, vehicle.RoleFluidTemp: 5 * time.Second,
}

const periodOther = 2 * time.Second

// sideShare is the part of the time that side requests may take, so that engine speed does not
// starve.
const sideShare = 0.3

// refusedMost is after how many refusals or silences in a row a side request is given up.
const refusedMost = 5

// SideRequest is something asked of one ECU.
type SideRequest struct {
	Module  string // request address
	request string
	counted string // with the count digit; "" where it is not used
	period  time.Duration
	next    time.Duration // when it is due
	refused int           // times in a row that it went unanswered
	single  int           // times in a row that one line answered it
}

// Side are the side requests of a drive.
type Side struct {
	list     []SideRequest
	spent    time.Duration // for the last round
	lastDone time.Duration
	counts   counters
}

// NewSide lists what the profile names (nil for nothing), and what the schedule wants that only
// others than the ECU that is asked alone report.
func NewSide(profile *vehicle.Profile, can obd.Capabilities, support *reply.Support) *Side {
	s := new(Side)
	add := func(module, request string, period time.Duration) {
		r := SideRequest{Module: module, request: request, period: period}
		if can.Count {
			r.counted = request + "1"
		}
		s.list = append(s.list, r)
	}
	if profile != nil {
		for i := range profile.Parameters {
			par := &profile.Parameters[i]
			period, known := rolePeriods[par.Role]
			if !known {
				period = periodOther
			}
			add(par.Module, obd.Identifier(par.Identifier), period)
		}
	}
	alone := support.Of(can.Focus)
	if alone == nil {
		return s
	}
	for _, c := range companions {
		if other := support.FirstWith(c.pid); other != nil && !alone.Has(c.pid) {
			add(obd.RequestAddress(other.Name), can.Parameters(c.pid), c.period)
		}
	}
	return s
}

// Any reports whether there are side requests at all.
func (s *Side) Any() bool { return len(s.list) > 0 }

// Due gives the side request that is most overdue, and others to the same ECU that are due too.
// Nothing is due while the last round's share of the time is not used up.
func (s *Side) Due(now time.Duration) (which []*SideRequest) {
	if now < s.lastDone+time.Duration(float64(s.spent)*(1/sideShare-1)) {
		return nil
	}
	if which := s.counts.due(now); which != nil {
		return which
	}
	var first *SideRequest
	for i := range s.list {
		if r := &s.list[i]; r.due(now) && (first == nil || r.next < first.next) {
			first = r
		}
	}
	if first == nil {
		return nil
	}
	for i := range s.list {
		if r := &s.list[i]; r.due(now) && strings.EqualFold(r.Module, first.Module) {
			which = append(which, r)
		}
	}
	return which
}

// Done books a round.
func (s *Side) Done(began, now time.Duration) {
	s.lastDone, s.spent = now, now-began
	if s.counts.asking {
		s.counts.done(began, now)
	}
}

func (r *SideRequest) due(now time.Duration) bool { return r.refused < refusedMost && now >= r.next }

// Request is what to send, with the count digit where one reply is proved.
func (r *SideRequest) Request() string {
	if r.counted != "" && r.single >= countSteady {
		return r.counted
	}
	return r.request
}

// Answered books what became of it: whether it was answered, and by one line.
func (r *SideRequest) Answered(now time.Duration, ok, oneLine bool) {
	r.next = now + r.period
	if r.single++; !oneLine {
		r.single = 0
	}
	if r.refused++; ok {
		r.refused = 0
	}
}
