package drive

import (
	"time"

	"judder/obd"
	"judder/obd/reply"
	"judder/pids/vehicle"
)

// Some things are asked of one computer by its physical address, between the requests for
// engine speed: the parameters of a vehicle profile, read by service 22, and what another
// computer than the one that is asked alone can tell.

// rolePeriods are how often a parameter is wanted: what moves with the clutch as often as
// a swing of 1 Hz needs, temperatures seldom. Common practice, no source.
var rolePeriods = map[vehicle.Role]time.Duration{
	vehicle.RoleSlip: 200 * time.Millisecond, vehicle.RoleTurbineSpeed: 200 * time.Millisecond,
	vehicle.RoleWantedSlip: 500 * time.Millisecond, vehicle.RoleClutchState: 500 * time.Millisecond,
	vehicle.RoleGear: 500 * time.Millisecond, vehicle.RoleFluidTemp: 5 * time.Second,
}

const periodOther = 2 * time.Second

// physicalShare is the part of the time that errands may take, so that engine speed does not
// starve.
const physicalShare = 0.3

// errand is something asked of one computer.
type errand struct {
	module  string // request address
	request string
	period  time.Duration
	next    time.Duration // when it is due
	refused int           // times in a row that it went unanswered
	single  int           // times in a row that one line answered it
}

// errands are asked in turn.
type errands struct {
	list     []errand
	spent    time.Duration // for the last round
	lastDone time.Duration
}

// refusedMost is after how many refusals or silences an errand is given up.
const refusedMost = 5

// newErrands lists what the profile names, and what of the schedule's wants only others than
// the ECU that is asked alone can tell.
func newErrands(profile *vehicle.Profile, can obd.Capabilities, support *reply.Support) (e errands) {
	if profile != nil {
		for i := range profile.Parameters {
			par := &profile.Parameters[i]
			period, known := rolePeriods[par.Role]
			if !known {
				period = periodOther
			}
			e.list = append(e.list, errand{module: par.Module, request: obd.Identifier(par.Identifier), period: period})
		}
	}
	alone := support.Of(can.Focus)
	if alone == nil {
		return e
	}
	for _, c := range companions {
		if teller := support.FirstWith(c.pid); teller != nil && !alone.Has(c.pid) {
			e.list = append(e.list, errand{module: obd.RequestAddress(teller.Name), request: can.Parameters(c.pid), period: c.period})
		}
	}
	return e
}

// due gives the errand that is most overdue, and others to the same module that are due too.
// Nothing is due while the last round's share of the time is not used up.
func (e *errands) due(now time.Duration) (which []*errand) {
	if now < e.lastDone+time.Duration(float64(e.spent)*(1/physicalShare-1)) {
		return nil
	}
	var first *errand
	for i := range e.list {
		if r := &e.list[i]; r.refused < refusedMost && now >= r.next && (first == nil || r.next < first.next) {
			first = r
		}
	}
	if first == nil {
		return nil
	}
	for i := range e.list {
		if r := &e.list[i]; r.module == first.module && r.refused < refusedMost && now >= r.next {
			which = append(which, r)
		}
	}
	return which
}

// answered books what became of an errand.
func (r *errand) answered(now time.Duration, ok, oneLine bool) {
	r.next = now + r.period
	if r.single++; !oneLine {
		r.single = 0
	}
	if r.refused++; ok {
		r.refused = 0
	}
}

// runErrands asks what is due and has the adapter ask for the schedule again. Nothing is
// asked on the older buses, nor where the adapter cannot show whose reply it is.
func (p *Poller) runErrands() error {
	if !p.can.Form.CAN() {
		return nil
	}
	now := p.cfg.Since()
	which := p.errands.due(now)
	if len(which) == 0 {
		return nil
	}
	if err := p.set("ATSH" + obd.HeaderOf(which[0].module)); err != nil {
		return err
	}
	for _, r := range which {
		request := r.request
		if p.can.Count && r.single >= countSteady {
			request += "1"
		}
		x, messages, err := p.do(request, waitReply)
		if err != nil {
			return err
		}
		r.answered(p.cfg.Since(), reply.Answered(messages), reply.WholeLines(&x, messages) == 1)
	}
	if err := p.home(); err != nil {
		return err
	}
	p.errands.lastDone = p.cfg.Since()
	p.errands.spent = p.errands.lastDone - now
	return nil
}
