package read

import "github.com/judder-obd/judder/pids"

// supportMaps are maps of what is supported. They chain, each ECU's by itself.
type supportMaps map[string]*pids.SupportMap

// has reports whether an ECU sent a map.
func (m supportMaps) has(ecu string) bool { return m[ecu] != nil }

// of reports whether one ECU supports an id.
func (m supportMaps) of(ecu string, id byte) bool {
	s := m[ecu]
	return s != nil && s.Has(id)
}

// any reports whether some ECU supports an id.
func (m supportMaps) any(id byte) bool {
	for _, s := range m {
		if s.Has(id) {
			return true
		}
	}
	return false
}

// first reports whether the first map of an ECU is there: none is empty.
func (m supportMaps) first(ecu string) bool {
	for id := byte(0x01); id <= 0x20; id++ {
		if m.of(ecu, id) {
			return true
		}
	}
	return false
}

// put keeps the four bytes of one map. Where replies have no names, it is one of several ECUs: each
// adds to what is supported.
func (m supportMaps) put(ecu string, base byte, four []byte) error {
	if m[ecu] == nil {
		m[ecu] = &pids.SupportMap{}
	}
	return m[ecu].Merge(base, four)
}

// add keeps what else an ECU supports.
func (m supportMaps) add(ecu string, has func(id byte) bool) {
	had, all := m[ecu], &pids.SupportMap{}
	for base := 0; base <= 0xE0; base += 0x20 {
		var four [4]byte
		for i := range 32 {
			if id := base + 1 + i; id <= 0xFF && (has(byte(id)) || had != nil && had.Has(byte(id))) {
				four[i/8] |= 0x80 >> (i % 8)
			}
		}
		if err := all.Add(byte(base), four[:]); err != nil {
			panic(err) // four bytes at a base
		}
	}
	m[ecu] = all
}
