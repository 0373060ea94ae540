package pids

import "iter"

// SupportMap holds which PIDs an ECU supports. Keep one for each ECU: several may answer,
// with different maps. The zero value is empty. It can be copied.
type SupportMap struct {
	bits [4]uint64
}

// mapLen is the number of data bytes of a map.
const mapLen = 4

// Add takes in the data of a map. The four bytes of base $00 have a bit for each of $01 to
// $20, most significant bit first, 1 for supported; those of $20 for $21 to $40; and so on
// (SAE J1979). The error is a *ReplyError, ErrBase, ErrShort or ErrLong; the map is then as
// it was.
func (m *SupportMap) Add(base byte, data []byte) error {
	switch {
	case base%0x20 != 0:
		return &ReplyError{PID: base, Err: ErrBase}
	case len(data) < mapLen:
		return &ReplyError{PID: base, Offset: len(data), Err: ErrShort}
	case len(data) > mapLen:
		return &ReplyError{PID: base, Offset: mapLen, Err: ErrLong}
	}
	for i := range 32 {
		pid := int(base) + 1 + i
		if pid > 0xFF {
			break // $E0 has no next map
		}
		set := data[i/8] & (0x80 >> (i % 8))
		m.bits[pid/64] &^= 1 << (pid % 64)
		if set != 0 {
			m.bits[pid/64] |= 1 << (pid % 64)
		}
	}
	return nil
}

// Merge adds the map of another ECU: what either has is supported.
func (m *SupportMap) Merge(base byte, data []byte) error {
	var more SupportMap
	if err := more.Add(base, data); err != nil {
		return err
	}
	for i := range m.bits {
		m.bits[i] |= more.bits[i]
	}
	return nil
}

// Has reports whether the ECU supports the PID.
func (m *SupportMap) Has(pid byte) bool { return m.bits[pid/64]>>(pid%64)&1 != 0 }

// All walks the supported PIDs in rising order, the maps themselves left out.
func (m *SupportMap) All() iter.Seq[byte] {
	return func(yield func(byte) bool) {
		for pid := range 0x100 {
			if m.Has(byte(pid)) && pid%0x20 != 0 && !yield(byte(pid)) {
				return
			}
		}
	}
}

// Next returns the map to ask after the one of base; ok is false when base was the last.
func (m *SupportMap) Next(base byte) (next byte, ok bool) {
	if base >= 0xE0 || base%0x20 != 0 {
		return 0, false
	}
	return base + 0x20, m.Has(base + 0x20)
}
