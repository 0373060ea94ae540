package obd

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"judder/pids"
)

// A vehicle profile names parameters of the maker's own, read by service 22 from one
// computer by its physical address. They are fitted between the requests for engine speed.

// rolePeriods are how often a parameter is wanted: what moves with the clutch as often as
// a swing of 1 Hz needs, temperatures seldom. Common practice, no source.
var rolePeriods = map[pids.Role]time.Duration{
	pids.RoleSlip: 200 * time.Millisecond, pids.RoleTurbineSpeed: 200 * time.Millisecond,
	pids.RoleWantedSlip: 500 * time.Millisecond, pids.RoleClutchState: 500 * time.Millisecond,
	pids.RoleGear: 500 * time.Millisecond, pids.RoleFluidTemp: 5 * time.Second,
}

const periodOther = 2 * time.Second

// physicalShare is the part of the time that the profile's parameters may take, so that
// engine speed does not starve.
const physicalShare = 0.3

// physical asks the profile's parameters.
type physical struct {
	params   []pids.Parameter
	next     []time.Duration // when each is due
	refused  []int           // times in a row that each went unanswered
	spent    time.Duration   // smoothed, for one round
	lastDone time.Duration
}

// refusedMost is after how many refusals or silences a parameter is asked no more.
const refusedMost = 5

func newPhysical(profile *pids.Profile) physical {
	if profile == nil {
		return physical{}
	}
	n := len(profile.Parameters)
	return physical{params: profile.Parameters, next: make([]time.Duration, n), refused: make([]int, n)}
}

// due gives the parameter that is most overdue, and others of the same module that are due
// too. Nothing is due while the last round's share of the time is not used up.
func (p *physical) due(now time.Duration) (which []int) {
	if now < p.lastDone+time.Duration(float64(p.spent)*(1/physicalShare-1)) {
		return nil
	}
	first := -1
	for i := range p.params {
		if p.refused[i] < refusedMost && now >= p.next[i] && (first < 0 || p.next[i] < p.next[first]) {
			first = i
		}
	}
	if first < 0 {
		return nil
	}
	for i := range p.params {
		if p.params[i].Module == p.params[first].Module && p.refused[i] < refusedMost && now >= p.next[i] {
			which = append(which, i)
		}
	}
	return which
}

// answered books what became of one parameter.
func (p *physical) answered(i int, now time.Duration, ok bool) {
	period, known := rolePeriods[p.params[i].Role]
	if !known {
		period = periodOther
	}
	p.next[i] = now + period
	if p.refused[i]++; ok {
		p.refused[i] = 0
	}
}

// askProfile asks what is due and sets the adapter back to asking everybody. Nothing is
// asked on the older buses, nor where the adapter cannot show whose reply it is.
func (p *Poller) askProfile() error {
	if p.can.Form != FormCAN11 && p.can.Form != FormCAN29 {
		return nil
	}
	now := p.cfg.Since()
	which := p.physical.due(now)
	if len(which) == 0 {
		return nil
	}
	module := p.physical.params[which[0]].Module
	if err := p.set("ATSH" + headerOf(module)); err != nil {
		return err
	}
	for _, i := range which {
		par := &p.physical.params[i]
		_, messages, err := p.do(fmt.Sprintf("22%04X", par.Identifier), waitReply)
		if err != nil {
			return err
		}
		p.physical.answered(i, p.cfg.Since(), goodReply(messages))
	}
	if err := p.set("ATSH" + everybody(p.can.Form)); err != nil {
		return err
	}
	p.physical.lastDone = p.cfg.Since()
	p.physical.spent = p.physical.lastDone - now
	return nil
}

// headerOf is what AT SH takes: three digits, or the last six of eight (the first two are
// the priority, which stays at its default).
func headerOf(address string) string { return strings.ToUpper(address[max(0, len(address)-6):]) }

// everybody is the header of requests to all ECUs (ISO 15765-4).
func everybody(form Form) string {
	if form == FormCAN29 {
		return "DB33F1"
	}
	return "7DF"
}

// replyAddress is the header of the replies to requests at an address: 8 more on 11 bits
// (ISO 15765-4, 7E0 to 7E7), sender and receiver changed round on 29.
func replyAddress(request string) string {
	request = strings.ToUpper(request)
	if len(request) == 8 {
		return request[:4] + request[6:8] + request[4:6]
	}
	n, err := strconv.ParseUint(request, 16, 16)
	if err != nil {
		return ""
	}
	return fmt.Sprintf("%03X", n+8)
}

// profileSamples appends the readings in a reply to service 22.
func (d *Decoder) profileSamples(dst []pids.Sample, m Message) []pids.Sample {
	if d.Profile == nil || len(m.Data) < 4 {
		return dst
	}
	identifier := uint16(m.Data[1])<<8 | uint16(m.Data[2])
	for i := range d.Profile.Parameters {
		par := &d.Profile.Parameters[i]
		if par.Identifier != identifier || d.replyOf(par.Module) != m.ECU {
			continue
		}
		if v, ok := par.Decode(m.Data[3:]); ok {
			dst = append(dst, pids.Sample{At: m.At, ECU: m.ECU, Signal: par.Signal, Value: v})
		}
	}
	return dst
}

// replyOf is the address a module replies with, by the profile or by the standard's rule.
func (d *Decoder) replyOf(module string) string {
	if name, ok := d.replies[module]; ok {
		return name
	}
	name := replyAddress(module)
	for _, m := range d.Profile.Modules {
		if strings.EqualFold(m.Request, module) && m.Reply != "" {
			name = strings.ToUpper(m.Reply)
		}
	}
	if d.replies == nil {
		d.replies = map[string]string{}
	}
	d.replies[module] = name
	return name
}
