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
