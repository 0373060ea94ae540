package drive

import (
	"strings"
	"testing"
	"time"

	"judder/obd/reply"
	"judder/pids"
	"judder/simcar"
)

// Of two computers that give engine speed the engine's is asked alone, so that it is read as
// often as if there were no other; an adapter that cannot ask it alone goes on asking all.
func TestPoller_EngineAlone(t *testing.T) {
	const from, to = 10 * time.Second, 20 * time.Second
	gearbox := simcar.TransmissionECU()
	for _, adapter := range simcar.Profiles {
		t.Run(adapter.Name, func(t *testing.T) {
			for _, bus := range []simcar.Protocol{simcar.CAN11at500, simcar.CAN29at500} {
				j, sim := ride(t, to, simcar.WithECUs(simcar.EngineECU(), gearbox), simcar.WithProfile(adapter), simcar.OnBus(bus))
				alone := false
				for _, l := range j.links {
					alone = alone || strings.Contains(l.Text, "asked alone")
				}
				engine, other := j.rate(pids.RPM, engineOn(bus), from, to), j.rate(pids.RPM, gearboxOn(bus), from, to)
				t.Logf("%v: alone %v, engine %.1f/s, gearbox %.1f/s", bus, alone, engine, other)
				if adapter.Name != "no-headers" && alone == (other > 0) || engine+other+j.rate(pids.RPM, "", from, to) < 5 {
					t.Errorf("%v: asked alone %v, yet the gearbox gives %.1f engine speeds a second", bus, alone, other)
				}
				compare(t, j, sim, adapter.Name == "no-headers", 0)
			}
		})
	}
}

func engineOn(bus simcar.Protocol) string {
	if bus == simcar.CAN29at500 {
		return "18DAF110"
	}
	return "7E8"
}

func gearboxOn(bus simcar.Protocol) string {
	if bus == simcar.CAN29at500 {
		return "18DAF118"
	}
	return "7E9"
}

// The engine is not asked alone where another computer alone gives what decides what may be
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
		{"engine tells all", []byte{0x04, 0x0C, 0x0D, 0x11}, []byte{0x0C, 0x0D}, "7E8"},
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
		if e := engineOf(&s); e != nil {
			got = e.Name
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}
