package read

import "judder/pids"

// mapKey is whose map it is: an ECU's, or where ECUs have no names, that of one answer to the
// question for the map at base.
type mapKey struct {
	ecu    string
	base   byte
	answer int // from 1
}

// supportMaps are maps of what is supported. They chain, each ECU's by itself.
type supportMaps map[mapKey]*pids.SupportMap

// has reports whether an ECU sent a map.
func (m supportMaps) has(ecu string) bool { return m[mapKey{ecu: ecu}] != nil }

// of reports whether one ECU supports an id.
func (m supportMaps) of(ecu string, id byte) bool {
	s := m[mapKey{ecu: ecu}]
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

// count is how many ECUs support an id; where they have no names, at least one when any does.
func (m supportMaps) count(id byte) (n int) {
	for key, s := range m {
		if key != (mapKey{}) && s.Has(id) {
			n++
		}
	}
	if n == 0 && m.of("", id) {
		return 1
	}
	return n
}

// answers is how many maps without names came to the first question.
func (m supportMaps) answers() (n int) {
	for key := range m {
		if key.answer > 0 && key.base == 0 {
			n++
		}
	}
	return n
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

// put keeps the four bytes of one map.
func (m supportMaps) put(key mapKey, base byte, four []byte) error {
	if m[key] == nil {
		m[key] = &pids.SupportMap{}
	}
	return m[key].Add(base, four)
}

// add keeps what else an ECU supports.
func (m supportMaps) add(key mapKey, has func(id byte) bool) {
	had, all := m[key], &pids.SupportMap{}
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
	m[key] = all
}
