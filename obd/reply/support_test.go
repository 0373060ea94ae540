package reply

import (
	"slices"
	"testing"
)

// Maps by SAE J1979: the first bit of 41 00 is PID 01, the last is PID 20. The first map is that
// of the ELM327 data sheet (p. 33); it has PID 0C and not 20.
func TestSupport(t *testing.T) {
	var s Support
	if err := s.Add("7E8", nil); err != nil || len(s.All) != 0 || s.Has(0x0C) || s.FirstWith(0x0C) != nil || s.Of("7E8") != nil || len(s.ECUs()) != 0 {
		t.Errorf("nothing was added: %v, %+v", err, s)
	}
	if err := s.Add("7E8", []byte{0x00, 0xBE}); err == nil || len(s.All) != 0 {
		t.Errorf("a map that is cut: %v, %+v", err, s)
	}
	for _, m := range []struct {
		ecu   string
		reply []byte
	}{
		{"7E9", []byte{0x00, 0x80, 0x00, 0x00, 0x01}},
		{"7E8", []byte{0x00, 0xBE, 0x3E, 0xB8, 0x11}},
		{"7E9", []byte{0x20, 0x80, 0x00, 0x00, 0x00}},
	} {
		if err := s.Add(m.ecu, m.reply); err != nil {
			t.Fatal(err)
		}
	}
	if !slices.Equal(s.ECUs(), []string{"7E9", "7E8"}) {
		t.Errorf("%v", s.ECUs())
	}
	if e := s.FirstWith(0x0C); e == nil || e.Name != "7E8" || !s.Has(0x0C) || s.Has(0x22) {
		t.Errorf("%+v", e)
	}
	if e := s.FirstWith(0x01); e == nil || e.Name != "7E9" {
		t.Errorf("%+v", e)
	}
	if e := s.Of("7E9"); e == nil || !e.Has(0x21) || e.Has(0x0C) || s.Of("7EA") != nil {
		t.Errorf("%+v", e)
	}
}

// Several maps without a name are one: what any of them has counts. With a name, the later holds.
func TestSupport_WithoutNames(t *testing.T) {
	for name, both := range map[string]bool{"": true, "7E8": false} {
		var s Support
		for _, m := range [][]byte{{0x00, 0x80, 0, 0, 0}, {0x00, 0x40, 0, 0, 0}} {
			if err := s.Add(name, m); err != nil {
				t.Fatal(err)
			}
		}
		if e := s.Of(name); len(s.All) != 1 || e.Has(0x01) != both || !e.Has(0x02) {
			t.Errorf("%q: %+v", name, s)
		}
	}
}
