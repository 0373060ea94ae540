package main

import (
	"bufio"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/judder-obd/judder/simcar"
)

// What the flags promise is what the car answers: codes of the engine and the transmission,
// the freeze frame, four further modules by their own addresses (layouts of SAE J1979,
// ISO 14229-1 and, for the older buses, of three codes a line).
func TestECUs(t *testing.T) {
	type steps [][2]string
	for _, row := range []struct {
		name                            string
		gear, codes, successor, modules bool
		bus                             simcar.Protocol
		steps                           steps
	}{
		{"plain", true, false, false, false, simcar.CAN11at500, steps{{"ATSP6", "OK"}, {"03", "43 00 / 43 00"}, {"0A", "4A 00 / 4A 00"}}},
		{"codes", true, true, false, false, simcar.CAN11at500, steps{
			{"ATSP6", "OK"}, {"03", "43 02 07 41 03 04 / 43 01 07 41"}, {"07", "47 01 03 04 / 47 01 07 41"}, {"0A", "4A 01 04 20 / 4A 00"},
			{"020200", "42 02 00 07 41 / 42 02 00 00 00"}, {"020C00", "42 0C 00 1A F8"},
		}},
		{"codes on an older bus", false, true, false, true, simcar.J1850VPW, steps{{"ATSP2", "OK"}, {"03", "43 07 41 03 04 00 00"}}},
		{"codes after SAE J1979-2", false, true, true, false, simcar.CAN11at500, steps{
			{"ATSP6", "OK"}, {"03", "NO DATA"}, {"195533", "009 / 0: 59 55 33 0D 04 04 / 1: 20 00 08 00 00 00 00"},
		}},
		{"modules", true, false, false, true, simcar.CAN11at500, steps{
			{"ATSP6", "OK"}, {"ATSH760", "OK"}, {"ATCRA768", "OK"}, {"190101", "59 01 FF 00 00 01"},
			{"ATSH710", "OK"}, {"ATCRA77A", "OK"}, {"190108", "59 01 FF 00 00 03"},
			{"ATSH720", "OK"}, {"ATCRA728", "OK"}, {"190104", "59 01 FF 00 00 02"},
			{"ATSH730", "OK"}, {"ATCRA738", "OK"}, {"190108", "59 01 FF 00 00 01"},
		}},
		{"modules on 29 bits", true, false, false, true, simcar.CAN29at500, steps{
			{"ATSP7", "OK"}, {"ATSHDA60F1", "OK"}, {"190104", "59 01 FF 00 00 02"}, {"ATSHDA40F1", "OK"}, {"190108", "59 01 FF 00 00 03"},
		}},
	} {
		t.Run(row.name, func(t *testing.T) {
			off := simcar.WarmIdle()
			off.RPM = 0
			ecus := ecusOf(row.gear, row.codes, row.successor, row.modules)
			for _, e := range ecus {
				e.Pad, e.Jitter = 0, 0
			}
			sim := simcar.New(simcar.Steady(off), simcar.WithECUs(ecus...), simcar.OnBus(row.bus), simcar.Instant())
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			conn := sim.Pipe(ctx)
			replies := bufio.NewReader(conn)
			for _, step := range append(steps{{"ATE0", "ATE0 / OK"}}, row.steps...) {
				if _, err := conn.Write([]byte(step[0] + "\r")); err != nil {
					t.Fatal(err)
				}
				text, err := replies.ReadString('>')
				if err != nil {
					t.Fatal(err)
				}
				var lines []string
				for _, line := range strings.FieldsFunc(text, func(r rune) bool { return r == '\r' || r == '>' }) {
					if line = strings.TrimSpace(line); line != "" {
						lines = append(lines, line)
					}
				}
				if got := strings.Join(lines, " / "); got != step[1] {
					t.Errorf("%s\n got %s\nwant %s", step[0], got, step[1])
				}
			}
		})
	}
}

// What -waits names: the engine says "wait" to one service or to each, once.
func TestRefusalsOf(t *testing.T) {
	for waits, services := range map[string]int{"": 0, waitsOnce: 1, waitsEach: len(simcar.ReadingServices)} {
		refusals, err := refusalsOf(waits)
		if err != nil || len(refusals) != services {
			t.Errorf("%q: %d refusals, %v; want %d", waits, len(refusals), err, services)
		}
		for _, r := range refusals {
			if r.Code != 0x78 || r.Times != 1 {
				t.Errorf("%q: %+v is not one \"wait\"", waits, r)
			}
		}
	}
	if _, err := refusalsOf("always"); err == nil {
		t.Error("an unknown word is accepted")
	}
}

// What -broadcast names: the car's own messages, none, or a recording.
func TestTrafficOf(t *testing.T) {
	car := simcar.Steady(simcar.WarmIdle())
	folder := t.TempDir()
	write := func(name, text string) string {
		name = filepath.Join(folder, name)
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return name
	}
	recording := write("bus.log", "(0.000000) can0 123#0102\n(0.500000) can0 124#03\n")
	for _, c := range []struct {
		broadcast string
		bus       simcar.Protocol
		id        uint32
		extended  bool
	}{{broadcastOwn, simcar.CAN11at500, 0x0A4, false}, {broadcastOwn, simcar.CAN29at250, 0x0C00A421, true}, {recording, simcar.CAN11at500, 0x123, false}} {
		traffic, err := trafficOf(c.broadcast, car, c.bus)
		if err != nil {
			t.Fatal(err)
		}
		if f, ok := traffic.From(0)(); !ok || f.ID != c.id || f.Extended != c.extended {
			t.Errorf("%s: %+v, %v", c.broadcast, f, ok)
		}
	}
	if traffic, err := trafficOf(broadcastNone, car, simcar.CAN11at500); traffic != nil || err != nil {
		t.Error(traffic, err)
	}
	for _, bad := range []string{write("empty.log", ""), write("bad.log", "no frame\n"), filepath.Join(folder, "none.log")} {
		if _, err := trafficOf(bad, car, simcar.CAN11at500); err == nil {
			t.Errorf("%s is taken", bad)
		}
	}
}
