package reply

import "github.com/judder-obd/judder/pids"

// Support is which PIDs each ECU reports that it answers.
type Support struct {
	All []ECU
}

// ECU is one ECU and the PIDs that it reports to answer; its Name is "" where the adapter hides it.
type ECU struct {
	Name string
	pids.SupportMap
}

// Add takes in one reply to a support PID: the PID and the four bytes of its map. Where the
// adapter hides who speaks, several maps come under no name: what any of them has counts.
func (s *Support) Add(ecu string, reply []byte) error {
	if len(reply) == 0 {
		return nil
	}
	if e := s.Of(ecu); e != nil {
		if ecu == "" {
			return e.Merge(reply[0], reply[1:])
		}
		return e.Add(reply[0], reply[1:])
	}
	e := ECU{Name: ecu}
	if err := e.Add(reply[0], reply[1:]); err != nil {
		return err
	}
	s.All = append(s.All, e)
	return nil
}

// Has reports whether any ECU supports the PID.
func (s *Support) Has(pid byte) bool {
	return s.FirstWith(pid) != nil
}

// FirstWith is the first ECU that supports a PID; nil when none does.
func (s *Support) FirstWith(pid byte) *ECU {
	for i := range s.All {
		if s.All[i].Has(pid) {
			return &s.All[i]
		}
	}
	return nil
}

// Of is what one ECU supports; nil when it has not answered.
func (s *Support) Of(name string) *ECU {
	for i := range s.All {
		if s.All[i].Name == name {
			return &s.All[i]
		}
	}
	return nil
}

// ECUs are the names of those that answered.
func (s *Support) ECUs() []string {
	names := make([]string, len(s.All))
	for i := range s.All {
		names[i] = s.All[i].Name
	}
	return names
}
