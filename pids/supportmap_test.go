package pids

import "testing"

// Maps of two ECUs that answer without names: what either has is supported, and a map that
// cannot be read changes nothing (bits computed by the layout of SAE J1979).
func TestSupportMap_Merge(t *testing.T) {
	var m SupportMap
	for _, data := range [][]byte{{0x00, 0x18, 0x80, 0x00}, {0x80, 0x10, 0x00, 0x01}} { // 0C 0D 11; 01 0C 20
		if err := m.Merge(0, data); err != nil {
			t.Fatal(err)
		}
	}
	if err := m.Merge(0, []byte{0xFF}); err == nil {
		t.Error("a short map was taken")
	}
	want := map[byte]bool{0x01: true, 0x0C: true, 0x0D: true, 0x11: true, 0x20: true}
	for pid := range 0x21 {
		if m.Has(byte(pid)) != want[byte(pid)] {
			t.Errorf("%02X: %v", pid, m.Has(byte(pid)))
		}
	}
}

// Next follows the maps, and nothing else.
func TestSupportMap_Next(t *testing.T) {
	var m SupportMap
	for _, base := range []byte{0x00, 0x20, 0xC0, 0xE0} {
		if err := m.Add(base, []byte{0xFF, 0xFF, 0xFF, 0xFF}); err != nil {
			t.Fatal(err)
		}
	}
	for base, want := range map[byte]byte{0x00: 0x20, 0x20: 0x40, 0x40: 0, 0xC0: 0xE0, 0xE0: 0, 0x08: 0, 0x01: 0} {
		if next, ok := m.Next(base); ok != (want > 0) || ok && next != want {
			t.Errorf("after $%02X: $%02X, %v; want $%02X", base, next, ok, want)
		}
	}
	for pid := range m.All() {
		if pid != 0x01 {
			t.Errorf("first $%02X", pid)
		}
		break // a walk may end early
	}
}
