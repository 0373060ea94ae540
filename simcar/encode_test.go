package simcar

import (
	"fmt"
	"math"
	"testing"
	"time"
)

// Worked examples of SAE J1979 service $01 (scalings of the published PID tables; the
// bytes are computed from them by hand unless a source is named).
func TestParameters_WorkedExamples(t *testing.T) {
	for _, row := range []struct {
		pid  byte
		set  func(*Condition)
		want string
	}{
		{0x0C, func(c *Condition) { c.RPM = 1726 }, "1AF8"},
		{0x0C, func(c *Condition) { c.RPM = 1518 }, "17B8"}, // ELM327 data sheet p.45
		{0x0C, func(c *Condition) { c.RPM = 716 }, "0B30"},
		{0x0C, func(c *Condition) { c.RPM = 0 }, "0000"},
		{0x05, func(c *Condition) { c.CoolantC = 83 }, "7B"}, // ELM327 data sheet p.31
		{0x0D, func(c *Condition) { c.SpeedKMH = 100 }, "64"},
		{0x04, func(c *Condition) { c.LoadPct = 24.71 }, "3F"}, // ELM327 data sheet p.45
		{0x06, func(c *Condition) { c.ShortTrimPct = -2.34 }, "7D"},
		{0x07, func(c *Condition) { c.LongTrimPct = 3.91 }, "85"},
		{0x0E, func(c *Condition) { c.SparkDeg = 5.5 }, "8B"},
		{0x10, func(c *Condition) { c.MAFgs = 15 }, "05DC"},
		{0x11, func(c *Condition) { c.ThrottlePct = 20 }, "33"},
		{0x1F, func(c *Condition) { c.RunTime = 600 * time.Second }, "0258"},
		{0x32, func(*Condition) {}, "FFFC"}, // −1.00 Pa
		{0x42, func(c *Condition) { c.Volts = 14.199 }, "3777"},
		{0x43, func(c *Condition) { c.AbsLoadPct = 33.73 }, "0056"},
		{0x44, func(c *Condition) { c.Lambda = 1 }, "8000"},
		{0x5C, func(c *Condition) { c.OilC = 86 }, "7E"},
		{0x5E, func(c *Condition) { c.FuelRateLPH = 5 }, "0064"},
		{0x61, func(c *Condition) { c.DemandTorquePct = 25 }, "96"},
		{0x62, func(c *Condition) { c.TorquePct = 20 }, "91"},
		{0x63, func(c *Condition) { c.RefTorqueNm = 400 }, "0190"},
		{0xA6, func(c *Condition) { c.OdometerKM = 12345.6 }, "0001E240"},
	} {
		var c Condition
		row.set(&c)
		if got := fmt.Sprintf("%X", number(row.pid, &c)); got != row.want {
			t.Errorf("PID %02X: got %s, want %s", row.pid, got, row.want)
		}
	}
}

func TestRecords_WorkedExamples(t *testing.T) {
	for _, row := range []struct {
		pid  byte
		set  func(*Condition)
		want string
	}{
		{0x01, func(*Condition) {}, "0007E500"},
		{0x24, func(c *Condition) { c.Lambda = 1 }, "80003333"},
		{0x66, func(c *Condition) { c.MAFgs = 12.5 }, "0101900000"},
		{0x67, func(c *Condition) { c.CoolantC = 83 }, "017B00"},
		{0xA4, func(c *Condition) { c.Gear, c.GearRatio = 6, 0.690 }, "036002B2"},
		{0xA4, func(c *Condition) { c.GearRatio = 4 }, "02000FA0"},
	} {
		var c Condition
		row.set(&c)
		if got := fmt.Sprintf("%X", recordOf[row.pid].bytes(&c, EngineECU())); got != row.want {
			t.Errorf("PID %02X: got %s, want %s", row.pid, got, row.want)
		}
	}
}

func TestParameter_OutOfRangeIsClamped(t *testing.T) {
	for _, rpm := range []float64{-5, math.NaN(), math.Inf(-1)} {
		if b, v := parameterOf[0x0C].append(nil, &Condition{RPM: rpm}); b[0] != 0 || b[1] != 0 || v != 0 {
			t.Errorf("%v rpm: got % X = %v, want 0", rpm, b, v)
		}
	}
	if b, v := parameterOf[0x0C].append(nil, &Condition{RPM: 1e9}); b[0] != 0xFF || b[1] != 0xFF || v != 16383.75 {
		t.Errorf("got % X = %v, want FF FF = 16383.75 (SAE J1979)", b, v)
	}
}

// Every PID is in one of the two tables only, and every PID of an ECU is in one.
func TestTables_Whole(t *testing.T) {
	for pid := range 256 {
		if parameterOf[pid] != nil && recordOf[pid] != nil {
			t.Errorf("PID %02X is in both tables", pid)
		}
	}
	for _, e := range []*ECU{EngineECU(), TransmissionECU()} {
		for _, pid := range e.PIDs {
			if parameterOf[pid] == nil && recordOf[pid] == nil {
				t.Errorf("%s: PID %02X has no encoder", e.Name, pid)
			}
		}
	}
}

// Support maps from the encyclopaedia article "OBD-II PIDs" (first) and computed here.
func TestSupportMap_WorkedExamples(t *testing.T) {
	for _, row := range []struct {
		base byte
		pids []byte
		want string
	}{
		{0x00, []byte{1, 3, 4, 5, 6, 7, 0x0C, 0x0D, 0x0E, 0x0F, 0x10, 0x11, 0x13, 0x15, 0x1C, 0x1F, 0x20}, "BE1FA813"},
		{0x00, []byte{1, 4, 5, 0x0C, 0x0D, 0x11, 0x1C, 0x1F, 0x20}, "98188013"},
		{0x20, []byte{0x21, 0x30, 0x31, 0x40}, "80018001"},
		{0x60, []byte{0x61, 0x62, 0x63}, "E0000000"},
		{0xA0, []byte{0xA4, 0xA6}, "14000000"},
	} {
		has := func(pid byte) bool {
			for _, p := range row.pids {
				if p == pid {
					return true
				}
			}
			return false
		}
		if got := fmt.Sprintf("%X", supportMap(row.base, has)); got != row.want {
			t.Errorf("base %02X: got %s, want %s", row.base, got, row.want)
		}
	}
}

// The value given is the value that the bytes hold, within half a step of the true one.
func TestParameter_ValueIsWhatTheBytesHold(t *testing.T) {
	c := WarmIdle()
	for _, p := range parameters {
		_, v := p.append(nil, &c)
		if math.Abs(v-p.from(&c)) > p.scale/2+1e-9 {
			t.Errorf("PID %02X: coded %v for %v, step %v", p.pid, v, p.from(&c), p.scale)
		}
	}
}

func TestCodes_WorkedExamples(t *testing.T) {
	for text, want := range map[string]Code{ // SAE J2012 coding; U0158 as published, the rest computed
		"U0158": 0xC158, "P0133": 0x0133, "P0741": 0x0741, "P2757": 0x2757, "P0A0F": 0x0A0F,
		"B0001": 0x8001, "C0035": 0x4035, "U100D": 0xD00D, "P0420": 0x0420,
	} {
		got, err := ParseCode(text)
		if err != nil || got != want || got.String() != text {
			t.Errorf("%s: got %04X (%v, %v), want %04X", text, uint16(got), got, err, uint16(want))
		}
	}
	for _, bad := range []string{"", "P07", "X0741", "P4741", "P07G1", "P07411", "P0-41"} {
		if c, err := ParseCode(bad); err == nil {
			t.Errorf("%q: got %v, want an error", bad, c)
		}
	}
}
