package schedule

import (
	"testing"

	"github.com/judder-obd/judder/obd/reply"
)

// The engine is not asked alone where another ECU alone gives what decides what may be
// judged.
func TestSupport_Engine(t *testing.T) {
	bits := func(pids ...byte) []byte {
		m := []byte{0, 0, 0, 0, 0}
		for _, p := range pids {
			m[1+(p-1)/8] |= 0x80 >> ((p - 1) % 8)
		}
		return m
	}
	for _, c := range []struct {
		name   string
		engine []byte
		other  []byte
		want   string
	}{
		{"engine reports all", []byte{0x04, 0x0C, 0x0D, 0x11}, []byte{0x0C, 0x0D}, "7E8"},
		{"speed from the other alone", []byte{0x04, 0x0C, 0x11}, []byte{0x0C, 0x0D}, ""},
		{"air flow from the other alone", []byte{0x0C, 0x0D}, []byte{0x0C, 0x10}, "7E8"},
		{"engine speed from the other alone", []byte{0x0D}, []byte{0x0C, 0x0D}, "7E9"},
		{"no engine speed", []byte{0x0D}, []byte{0x0D}, ""},
	} {
		var s reply.Support
		for ecu, list := range map[string][]byte{"7E8": c.engine, "7E9": c.other} {
			if err := s.Add(ecu, bits(list...)); err != nil {
				t.Fatal(err)
			}
		}
		got := ""
		if e := EngineOf(&s); e != nil {
			got = e.Name
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}
