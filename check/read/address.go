package read

import (
	"errors"
	"fmt"
	"strings"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids/vehicle"
)

// AddProfile adds a vehicle profile's modules to those that are asked. One that is asked
// already takes its reply address from there; names of all are kept by reply address.
func (o *Options) AddProfile(p *vehicle.Profile) {
	if p == nil {
		return
	}
	if o.Names == nil {
		o.Names = map[string]string{}
	}
	for _, m := range p.Modules {
		module, err := ParseModule(m.Request)
		if err != nil {
			continue // a profile may name addresses at which nothing is asked
		}
		if module.Name = m.Name; m.Reply != "" {
			module.Reply = m.Reply
		}
		o.Names[module.Reply] = m.Name
		there := false
		for i := range o.Modules {
			if o.Modules[i].Request == module.Request {
				o.Modules[i].Reply, there = module.Reply, true
			}
		}
		if !there {
			o.Modules = append(o.Modules, module)
		}
	}
}

// ParseModule reads the address at which an ECU is asked, and refuses those of ISO 15765-4 that
// are none: where all ECUs are asked at once, and where the emission-related ones reply.
func ParseModule(text string) (obd.Module, error) {
	m, err := obd.ParseModule(text)
	switch {
	case err != nil:
		return m, err
	case m.Request == "7DF":
		return m, errors.New("module 7DF: a check asks all control units there anyway; give the address of one, such as 760")
	case m.Request >= "7E8" && m.Request <= "7EF":
		return m, fmt.Errorf("module %s: a control unit replies with this address and is asked 8 below; give 7E%c", m.Request, "01234567"[strings.IndexByte("89ABCDEF", m.Request[2])])
	case m.Request == "18DAF1F1":
		return m, errors.New("module F1: that is this tester's own address; give that of a control unit, such as 28")
	}
	return m, nil
}
