package drive

import (
	"judder/obd"
	"judder/obd/reply"
)

// Where several ECUs answer a request, each reply costs its time on the bus and on the
// cable, and one may wake late. Once it is known which of them is the engine computer, it is
// asked alone, by its physical address (ISO 15765-4), and the adapter lets only its replies
// pass.

// focus has the engine computer asked alone, where that loses nothing and is proved by a
// known answer: its own support map, and no other reply.
func (p *Poller) focus() error {
	p.askOf("")
	if p.can.Form == obd.FormBare && p.several {
		return p.focusBare()
	}
	if !p.can.Form.CAN() {
		return nil
	}
	ecu := engineOf(&p.support)
	if ecu == nil {
		return nil
	}
	p.askOf(ecu.Name)
	if err := p.home(); err != nil {
		return err
	}
	only, err := p.onlyReply()
	if err != nil || only != nil && only.ECU == ecu.Name {
		return err
	}
	p.askOf("")
	return p.home()
}

// onlyReply asks whoever is addressed for the first support map, once more when a reply is lost;
// nil unless exactly one computer answers.
func (p *Poller) onlyReply() (*reply.Message, error) {
	for range 2 {
		got, _, err := p.replies(p.can.Parameters(0))
		if err != nil || len(got) > 1 {
			return nil, err
		}
		if len(got) == 1 {
			return &got[0], nil
		}
	}
	return nil, nil
}

// canForms are the layouts that CAN replies would have with headers, by the adapter's protocol
// number; engineHeaders are the headers at which ISO 15765-4 puts the engine.
var (
	canForms      = map[string]obd.Form{"6": obd.FormCAN11, "7": obd.FormCAN29, "8": obd.FormCAN11, "9": obd.FormCAN29}
	engineHeaders = map[obd.Form]string{obd.FormCAN11: "7E0", obd.FormCAN29: "DA10F1"}
)

// askEverybodyBare has everybody asked where replies come without their headers.
func (p *Poller) askEverybodyBare() error {
	p.alone = ""
	return p.set("ATSH" + obd.Everybody(canForms[obd.ProtocolNumber(p.can.Protocol)]))
}

// focusBare has the engine computer asked alone where replies of several come without their
// headers and would be mixed: proved by one reply in place of several, which has engine speed.
func (p *Poller) focusBare() error {
	header, ok := engineHeaders[canForms[obd.ProtocolNumber(p.can.Protocol)]]
	if !ok {
		return nil
	}
	if err := p.set("ATSH" + header); err != nil {
		return err
	}
	if only, err := p.onlyReply(); err != nil {
		return err
	} else if only != nil {
		if err := p.walkSupport(); err != nil {
			return err
		}
		if p.support.Has(obd.EngineSpeed) {
			p.alone = header
			return nil
		}
	}
	if err := p.askEverybodyBare(); err != nil {
		return err
	}
	return p.walkSupport()
}

// askOf says whom the schedule is for, and with it what must be asked of others.
func (p *Poller) askOf(ecu string) {
	p.can.Focus = ecu
	p.errands = newErrands(p.cfg.Profile, p.can, &p.support)
}

// home has the adapter ask whom the schedule is for: the engine computer, or everybody.
func (p *Poller) home() error {
	if p.can.Focus == "" {
		return p.askEverybody()
	}
	filter := "ATCRA" + p.can.Focus
	if len(p.errands.list) > 0 { // others must be heard as well
		filter = "ATCRA"
	}
	return p.direct(obd.HeaderOf(obd.RequestAddress(p.can.Focus)), filter)
}

// askEverybody has the adapter ask and hear all computers, on CAN with headers.
func (p *Poller) askEverybody() error { return p.direct(obd.Everybody(p.can.Form), "ATCRA") }

// direct says whom the adapter asks and whom it hears.
func (p *Poller) direct(header, filter string) error {
	if filter != p.filter {
		if err := p.set(filter); err != nil {
			return err
		}
		p.filter = filter
	}
	return p.set("ATSH" + header)
}

// engineOf is the ECU that can be asked alone: it gives engine speed, the lowest address of
// those that do (ISO 15765-4 puts the engine first), and no other alone gives what decides
// what may be judged. nil when there is none.
func engineOf(s *reply.Support) *reply.ECU {
	var engine *reply.ECU
	for i := range s.All {
		e := &s.All[i]
		if e.Has(obd.EngineSpeed) && (engine == nil || e.Name < engine.Name) {
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
