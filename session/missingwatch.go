package session

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
)

// missingAfter is how many requests in a row must have been in vain, each while the car answered
// others, before a parameter is missing in a drive that goes on.
const missingAfter = 3

// missingWatch follows how the profile's parameters are asked and answered, in the exchanges: the
// poller knows what it gave up, but a recording knows only what was asked and what came. So drive,
// review and replay name the same parameters.
type missingWatch struct {
	parameters []parameterWatch
	header     string // whom the adapter asks
	heard      bool   // the request before, for the standard's parameters, was answered
	read       bool   // the car has been read
	form       obd.Form
	finished   bool
}

type parameterWatch struct {
	Missing
	missed int // times in a row
	read   int
}

func newMissingWatch(profile *vehicle.Profile) *missingWatch {
	w := &missingWatch{}
	if profile == nil {
		return w
	}
	for i := range profile.Parameters {
		p := &profile.Parameters[i]
		w.parameters = append(w.parameters, parameterWatch{Missing: Missing{Signal: p.Signal, Name: p.Name, Module: p.Module, Identifier: p.Identifier}})
	}
	return w
}

// readings takes the readings of any entry.
func (w *missingWatch) readings(samples []pids.Sample) {
	for i := range w.parameters {
		for k := range samples {
			if p := &w.parameters[i]; samples[k].Signal == p.Signal {
				p.read++
				p.missed, p.Way = 0, notMissing
			}
		}
	}
}

// exchange takes an exchange and what it brought.
func (w *missingWatch) exchange(x *obd.Exchange, d *reply.Decoded) {
	if len(w.parameters) == 0 {
		return
	}
	w.readings(d.Samples)
	switch {
	case strings.HasPrefix(x.Request, "ATSH"):
		w.header = x.Request[len("ATSH"):]
	case !isRequest(x.Request):
	case w.parameter(x, d):
	default:
		if w.heard = len(d.Samples) > 0; w.heard {
			w.read, w.form = true, x.Form
		}
	}
}

// parameter counts a request of service 22 for what the profile names; false for any other.
func (w *missingWatch) parameter(x *obd.Exchange, d *reply.Decoded) bool {
	const digits = len("22F190")
	if len(x.Request) < digits || x.Request[:2] != "22" {
		return false
	}
	identifier, err := strconv.ParseUint(x.Request[2:digits], 16, 16)
	if err != nil {
		return false
	}
	way, refusal := vainAnswer(d)
	asked := false
	for i := range w.parameters {
		p := &w.parameters[i]
		if uint64(p.Identifier) != identifier || !strings.EqualFold(p.Module[max(0, len(p.Module)-6):], w.header) {
			continue
		}
		asked = true
		p.Asked++
		read := slices.ContainsFunc(d.Samples, func(s pids.Sample) bool { return s.Signal == p.Signal })
		if !read && (way != MissingSilent || w.heard) { // in an outage all are silent
			p.missedAt(x.Sent, way, refusal)
		}
	}
	return asked
}

// vainAnswer is what came for a request that brought no reading.
func vainAnswer(d *reply.Decoded) (way MissingWay, refusal byte) {
	way = MissingSilent
	for _, m := range d.Messages {
		if m.Late {
			continue
		}
		if code, refused := m.Negative(); refused {
			way, refusal = MissingRefused, code
			continue
		}
		return MissingMisfits, 0
	}
	return way, refusal
}

// missedAt counts a request in vain.
func (p *parameterWatch) missedAt(at time.Duration, way MissingWay, refusal byte) {
	if p.missed == 0 {
		p.Since = at
	}
	if way == MissingSilent && p.read > 0 {
		way = MissingStopped
	}
	p.missed++
	p.Way, p.Refusal = way, refusal
}

// list is what is missing so far: what was asked in vain several times, and once the drive is over
// what was never read at all.
func (w *missingWatch) list() (list []Missing) {
	if !w.read {
		return nil
	}
	for i := range w.parameters {
		p := w.parameters[i]
		switch {
		case p.missed >= missingAfter, w.finished && p.read == 0 && p.missed > 0:
		case p.Asked+p.read > 0:
			continue
		case !w.form.CAN():
			p.Way = MissingNoWay
		case w.finished:
			p.Way = MissingNotAsked
		default:
			continue
		}
		list = append(list, p.Missing)
	}
	return list
}
