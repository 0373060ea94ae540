package check

import (
	"judder/obd"
	"judder/pids"
)

// AddProfile adds a vehicle profile's modules to those that are asked. One that is asked
// already takes its reply address from there; names of all are kept by reply address.
func (o *Options) AddProfile(p *pids.Profile) {
	if p == nil {
		return
	}
	if o.Names == nil {
		o.Names = map[string]string{}
	}
	for _, m := range p.Modules {
		module, err := obd.ParseModule(m.Request)
		if err != nil {
			continue // a profile may name addresses at which nothing is asked
		}
		if module.Name = m.Name; m.Reply != "" {
			module.Reply = m.Reply
		}
		o.Names[module.Reply] = m.Name
		named := false
		for i := range o.Modules {
			if o.Modules[i].Request == module.Request {
				o.Modules[i].Reply, named = module.Reply, true
			}
		}
		if !named {
			o.Modules = append(o.Modules, module)
		}
	}
}
