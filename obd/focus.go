package obd

// Where several ECUs answer a request, each reply costs its time on the bus and on the
// cable, and one may wake late. Once it is known which of them is the engine computer, it is
// asked alone, by its physical address (ISO 15765-4), and the adapter lets only its replies
// pass.

// focus has the engine computer asked alone, where that loses nothing and is proved by a
// known answer: its own support map, and no other reply.
func (p *Poller) focus() error {
	p.askOf("")
	if p.can.Form != FormCAN11 && p.can.Form != FormCAN29 {
		return nil
	}
	ecu := p.support.engine()
	if ecu == nil {
		return nil
	}
	p.askOf(ecu.name)
	if err := p.home(); err != nil {
		return err
	}
	plain, err := p.replies(p.can.request(0))
	if err != nil {
		return err
	}
	if len(plain) == 1 && plain[0].ECU == ecu.name {
		return nil
	}
	p.askOf("")
	return p.home()
}

// askOf says whom the schedule is for, and with it what must be asked of others.
func (p *Poller) askOf(ecu string) {
	p.can.Focus = ecu
	p.errands = newErrands(p.cfg.Profile, p.can, &p.support)
}

// home has the adapter ask whom the schedule is for: the engine computer, or everybody.
func (p *Poller) home() error {
	header, filter := everybody(p.can.Form), "ATCRA"
	if p.can.Focus != "" {
		header, filter = headerOf(requestAddress(p.can.Focus)), "ATCRA"+p.can.Focus
	}
	if len(p.errands.list) > 0 { // others must be heard as well
		filter = "ATCRA"
	}
	if filter != p.filter {
		if err := p.set(filter); err != nil {
			return err
		}
		p.filter = filter
	}
	return p.set("ATSH" + header)
}

// engine is the ECU that can be asked alone: it gives engine speed, the lowest address of
// those that do (ISO 15765-4 puts the engine first), and no other alone gives what decides
// what may be judged. nil when there is none.
func (s *Support) engine() *ecuSupport {
	var engine *ecuSupport
	for i := range s.ecus {
		e := &s.ecus[i]
		if e.Has(engineSpeed) && (engine == nil || e.name < engine.name) {
			engine = e
		}
	}
	if engine == nil {
		return nil
	}
	for _, c := range companions {
		if !c.spare && s.Has(c.pid) && !engine.Has(c.pid) {
			return nil
		}
	}
	return engine
}
