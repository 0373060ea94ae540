package obd

import "judder/pids"

// Support is which PIDs each ECU says it answers.
type Support struct {
	ecus []ecuSupport
}

type ecuSupport struct {
	name string
	pids.SupportMap
}

// add takes in one reply to a support PID: the PID and the four bytes of its map. Where the
// adapter hides who speaks, several maps come under no name: what any of them has counts.
func (s *Support) add(ecu string, reply []byte) error {
	if len(reply) == 0 {
		return nil
	}
	if e := s.of(ecu); e != nil {
		if ecu == "" {
			return e.Merge(reply[0], reply[1:])
		}
		return e.Add(reply[0], reply[1:])
	}
	e := ecuSupport{name: ecu}
	if err := e.Add(reply[0], reply[1:]); err != nil {
		return err
	}
	s.ecus = append(s.ecus, e)
	return nil
}

// Has tells whether any ECU supports the PID.
func (s *Support) Has(pid byte) bool {
	return s.teller(pid) != nil
}

// teller is the first ECU that supports a PID; nil when none does.
func (s *Support) teller(pid byte) *ecuSupport {
	for i := range s.ecus {
		if s.ecus[i].Has(pid) {
			return &s.ecus[i]
		}
	}
	return nil
}

// of is what one ECU supports; nil when it has not answered.
func (s *Support) of(name string) *ecuSupport {
	for i := range s.ecus {
		if s.ecus[i].name == name {
			return &s.ecus[i]
		}
	}
	return nil
}

// ECUs are the names of those that answered.
func (s *Support) ECUs() []string {
	names := make([]string, len(s.ecus))
	for i := range s.ecus {
		names[i] = s.ecus[i].name
	}
	return names
}
