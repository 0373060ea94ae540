package read

import (
	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids"
)

// Parameters of service 01 about readiness and clearing (SAE J1979).
const (
	pidMonitors    = 0x01
	pidEngineSpeed = 0x0C
	pidRegulation  = 0x1C
	pidWarmUps     = 0x30
	pidClearedKM   = 0x31
	pidClearedMin  = 0x4E
	pidOdometer    = 0xA6
)

// parameters asks for parameters of service 01, where an ECU supports them.
type parameters struct {
	*asker
	maps supportMaps
}

// learn keeps what the set-up knows of what is supported: a later one may know less.
func (p *parameters) learn() {
	if p.maps == nil {
		p.maps = supportMaps{}
	}
	for _, id := range named(p.q.ECUs()) {
		p.maps.add(id, func(pid byte) bool { return p.q.Supports(id, pid) })
	}
}

// complete asks the ECUs for their maps whose first was lost at set-up.
func (p *parameters) complete() error {
	p.learn()
	var missing []string
	for _, id := range named(p.q.ECUs()) {
		if !p.maps.first(id) {
			missing = append(missing, id)
		}
	}
	if missing == nil {
		return nil
	}
	found, err := p.supports(check.ItemParameterMap, func(base byte) string { return p.q.Parameters(base) }, func(base byte, data []byte) []byte {
		if d := reply.ParameterData(data); len(d) == 5 && d[0] == base {
			return d[1:]
		}
		return nil
	})
	if err != nil {
		return err
	}
	for ecu, m := range found.maps {
		p.maps.add(ecu, m.Has)
	}
	for _, id := range missing {
		if !found.maps.has(id) {
			p.note(id, check.Item{Kind: check.ItemAllCounts}, check.Of(check.MapMissing))
		}
	}
	return nil
}

// ask asks for one parameter, where an ECU supports it.
func (p *parameters) ask(pid byte, kind check.ItemKind, take func(e *check.ECU, part pids.Part) error) error {
	p.learn()
	if !p.maps.any(pid) {
		return nil
	}
	item, d := check.Item{Kind: kind}, due{maps: p.maps, id: pid}
	in, err := p.each(item, p.q.Parameters(pid), d, func(e *check.ECU, data []byte) error {
		parts, err := pids.Split(nil, reply.ParameterData(data), pid)
		if err != nil || len(parts) != 1 {
			return err
		}
		return take(e, parts[0])
	})
	if err != nil {
		return err
	}
	p.noteSilent(item, d, in)
	return nil
}

// supply asks the adapter for the voltage at the socket, and the car whether its engine runs: a
// supply is weighed by it.
func (c *checker) supply() error {
	v, err := c.q.Volts()
	if c.r.Volts = v; err != nil {
		return err
	}
	if err := c.separate(); err != nil {
		return err
	}
	if err := c.params.complete(); err != nil {
		return err
	}
	return c.params.ask(pidEngineSpeed, check.ItemEngineSpeed, func(_ *check.ECU, part pids.Part) error {
		values, err := part.PID.Append(nil, part.Data)
		if err == nil && len(values) == 1 && (c.r.EngineRPM == nil || *c.r.EngineRPM < values[0].Value) {
			c.r.EngineRPM = &values[0].Value
		}
		return err
	})
}
