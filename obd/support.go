package obd

// Support is which PIDs of service 01 each ECU says it answers.
type Support struct {
	ecus []ecuSupport
}

type ecuSupport struct {
	name string
	pids [256]bool
}

// mapsOf are the PIDs whose data is a map of the 32 that follow (SAE J1979).
func isSupportMap(pid byte) bool { return pid%0x20 == 0 }

// Add takes in one reply to a support PID, from the PID on: PID and four bytes, bit 7 of the
// first byte standing for PID + 1.
func (s *Support) Add(ecu string, reply []byte) {
	if len(reply) < 5 || !isSupportMap(reply[0]) {
		return
	}
	e := s.ecu(ecu)
	base := int(reply[0])
	for i := range 32 {
		if pid := base + 1 + i; pid < 256 {
			e.pids[pid] = reply[1+i/8]&(0x80>>(i%8)) != 0
		}
	}
}

func (s *Support) ecu(name string) *ecuSupport {
	for i := range s.ecus {
		if s.ecus[i].name == name {
			return &s.ecus[i]
		}
	}
	s.ecus = append(s.ecus, ecuSupport{name: name})
	return &s.ecus[len(s.ecus)-1]
}

// Has tells whether any ECU supports the PID.
func (s *Support) Has(pid byte) bool {
	for i := range s.ecus {
		if s.ecus[i].pids[pid] {
			return true
		}
	}
	return false
}

// ECUs are the names of those that answered.
func (s *Support) ECUs() []string {
	names := make([]string, len(s.ecus))
	for i := range s.ecus {
		names[i] = s.ecus[i].name
	}
	return names
}
