package pids

import (
	"encoding/hex"
	"math"
	"strings"
	"testing"
)

// tolerance is what a shown value may differ from the exact conversion.
const tolerance = 1e-9

// Sources of the vectors. No worked example of SAE J1979 itself is public; the formulae
// are those of the table, the numbers computed by hand from them where no source printed
// a result.
const (
	sheet45  = "ELM327 data sheet p.45 (reply printed there); value computed here"
	sheet31  = "ELM327 data sheet p.31 (reply, from memory); value computed here: 123 − 40"
	sheet34  = "ELM327 data sheet p.34 (reply printed there); decoded here"
	article  = `encyclopaedia article "OBD-II PIDs" (reply and result printed there)`
	computed = "computed here from SAE J1979's formula"
)

// vectors are replies of service $01 and what they mean.
var vectors = []struct {
	reply  string // with the service byte
	want   map[Signal]float64
	source string
}{
	{"41 0C 1A F8", vals{RPM: 1726}, computed},
	{"41 0C 17 B8", vals{RPM: 1518}, sheet45},
	{"41 0C 0B 30", vals{RPM: 716}, computed},
	{"41 05 7B", vals{ECT: 83}, sheet31},
	{"41 05 44", vals{ECT: 28}, sheet45},
	{"41 0B 21", vals{MAP: 33}, sheet45},
	{"41 0D 64", vals{VSS: 100}, computed},
	{"41 04 3F", vals{LoadPct: 6300. / 255}, sheet45}, // 24.7 %
	{"41 06 7D", vals{"SHRTFT1": -2.34375}, computed},
	{"41 06 7D 83", vals{"SHRTFT1": -2.34375, "SHRTFT3": 2.34375}, computed},
	{"41 07 85", vals{"LONGFT1": 3.90625}, computed},
	{"41 0E 8B", vals{"SPARKADV": 5.5}, computed},
	{"41 10 05 DC", vals{"MAF": 15}, computed},
	{"41 11 33", vals{TP: 20}, computed},
	{"41 14 5A FF", vals{"O2S_V1": 0.45}, computed}, // $FF: not used for the trim
	{"41 14 5A 80", vals{"O2S_V1": 0.45, "O2S_FT1": 0}, computed},
	{"41 1F 02 58", vals{"RUNTM": 600}, computed},
	{"41 22 0D AC", vals{"FRP_REL": 276.5}, computed},
	{"41 24 80 00 33 33", vals{"O2S_LV1": 1, "O2S_WV1": 13107 * 8 / 65536.}, computed}, // 1.600 V
	{"41 32 FF FC", vals{"EVAP_VP": -1}, computed},
	{"41 34 80 00 80 00", vals{"O2S_LC1": 1, "O2S_WC1": 0}, computed},
	{"41 3C 11 30", vals{"CATEMP11": 400}, computed},
	{"41 42 37 77", vals{VPWR: 14.199}, computed},
	{"41 43 00 56", vals{LoadAbs: 8600. / 255}, computed}, // 33.73 %
	{"41 44 80 00", vals{"LAMBDA": 1}, computed},
	{"41 5C 7E", vals{"EOT": 86}, computed},
	{"41 5C FB", vals{}, "published maximum 210 °C; computed here"},
	{"41 5E 00 64", vals{"FUEL_RATE": 5}, computed},
	{"41 5E FA FF", vals{"FUEL_RATE": 3212.75}, article},
	{"41 5E FB 00", vals{}, "published maximum 3212.75 L/h; computed here"},
	{"41 61 96", vals{"TQ_DD": 25}, computed},
	{"41 62 91", vals{"TQ_ACT": 20}, computed},
	{"41 63 01 90", vals{"TQ_REF": 400}, computed},
	{"41 66 01 01 90 00 00", vals{"MAFA": 12.5}, computed},
	{"41 67 01 7B 00", vals{"ECT1": 83}, computed},
	{"41 68 03 5A 5B", vals{"IAT11": 50, "IAT12": 51}, computed}, // the short edition
	{"41 68 21 5A 00 00 00 00 5B", vals{"IAT11": 50, "IAT23": 51}, computed},
	{"41 A4 03 60 02 B2", vals{"GEAR_ACT": 6, "GEAR_RAT": 0.69}, computed + "; gear's nibble from memory"},
	{"41 A4 02 00 0F A0", vals{"GEAR_RAT": 4}, computed},
	{"41 A6 00 01 E2 40", vals{"ODO": 12345.6}, computed},
	{"41 0C 00 00", vals{RPM: 0}, computed + ": a stopped engine is data"},
	{"41 0D 00", vals{VSS: 0}, computed},
	{"41 54 FF FF", vals{"EVAP_VPW": -1}, computed},
	{"41 65 02 02", vals{"N/D_STAT": 1}, computed + "; order of bits from memory"},
}

type vals = map[Signal]float64

func unhex(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestAppend_Vectors(t *testing.T) {
	for _, v := range vectors {
		reply := unhex(t, v.reply)
		parts, err := Split(nil, reply[1:], reply[1])
		if err != nil || len(parts) != 1 {
			t.Errorf("%s: Split = %d parts, %v", v.reply, len(parts), err)
			continue
		}
		values, err := parts[0].PID.Append(nil, parts[0].Data)
		if err != nil || len(values) != len(v.want) {
			t.Errorf("%s (%s): %d values, %v; want %d", v.reply, v.source, len(values), err, len(v.want))
		}
		for _, got := range values {
			want, ok := v.want[got.Field.Signal]
			if !ok || math.Abs(got.Value-want) > tolerance {
				t.Errorf("%s (%s): %s = %v, want %v (wanted: %v)", v.reply, v.source, got.Field.Signal, got.Value, want, ok)
			}
		}
	}
}

// TestActualTorque: demand 25 %, actual 20 % of 400 N·m is 80 N·m (computed here).
func TestActualTorque(t *testing.T) {
	percent, _ := Lookup(0x62).Fields[0].Decode([]byte{0x91})
	reference, _ := Lookup(0x63).Fields[0].Decode([]byte{0x01, 0x90})
	if got := percent / 100 * reference; got != 80 {
		t.Errorf("actual torque = %v N·m, want 80", got)
	}
}

// TestTwoECUs: engine and transmission differ by 1 km/h; both are right, kept apart by
// the caller (computed here).
func TestTwoECUs(t *testing.T) {
	var got []float64
	for _, reply := range []string{"0D 64", "0D 63"} {
		parts, err := Split(nil, unhex(t, reply), 0x0D)
		if err != nil {
			t.Fatal(err)
		}
		values, err := parts[0].PID.Append(nil, parts[0].Data)
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, values[0].Value)
	}
	if got[0] != 100 || got[1] != 99 {
		t.Errorf("got %v, want 100 and 99", got)
	}
}

func TestSupportMap_Vectors(t *testing.T) {
	for _, v := range []struct {
		base   byte
		data   string
		want   []byte
		next   bool
		source string
	}{
		{0x00, "BE1FA813", []byte{1, 3, 4, 5, 6, 7, 0x0C, 0x0D, 0x0E, 0x0F, 0x10, 0x11, 0x13, 0x15, 0x1C, 0x1F}, true, article},
		{0x00, "BE3EB811", []byte{1, 3, 4, 5, 6, 7, 0x0B, 0x0C, 0x0D, 0x0E, 0x0F, 0x11, 0x13, 0x14, 0x15, 0x1C}, true, computed},
		{0x00, "98188013", []byte{1, 4, 5, 0x0C, 0x0D, 0x11, 0x1C, 0x1F}, true, computed},
		{0x20, "80018001", []byte{0x21, 0x30, 0x31}, true, computed},
		{0x40, "FED00400", []byte{0x41, 0x42, 0x43, 0x44, 0x45, 0x46, 0x47, 0x49, 0x4A, 0x4C, 0x56}, false, computed},
		{0x60, "E0000000", []byte{0x61, 0x62, 0x63}, false, computed},
		{0xA0, "14000000", []byte{0xA4, 0xA6}, false, computed},
	} {
		var m SupportMap
		if err := m.Add(v.base, unhex(t, v.data)); err != nil {
			t.Fatal(err)
		}
		var got []byte
		for pid := range m.All() {
			got = append(got, pid)
		}
		if string(got) != string(v.want) {
			t.Errorf("map $%02X %s (%s): % X, want % X", v.base, v.data, v.source, got, v.want)
		}
		if next, ok := m.Next(v.base); ok != v.next || ok && next != v.base+0x20 {
			t.Errorf("map $%02X %s: next $%02X, %v; want %v", v.base, v.data, next, ok, v.next)
		}
	}
}

func TestMonitorStatus_Vectors(t *testing.T) {
	for _, v := range []struct {
		pid               byte
		data              string
		mil               bool
		codes             int
		compression       bool
		available, undone string
		source            string
	}{
		{0x01, "81076504", true, 1, false,
			"misfire,fuel system,components,catalyst,evaporative system,oxygen sensor,oxygen sensor heater", "evaporative system", sheet34},
		{0x01, "0007E500", false, 0, false,
			"misfire,fuel system,components,catalyst,evaporative system,oxygen sensor,oxygen sensor heater,EGR or VVT", "", computed},
		{0x41, "0007E121", false, 0, false,
			"misfire,fuel system,components,catalyst,oxygen sensor,oxygen sensor heater,EGR or VVT", "catalyst,oxygen sensor", computed},
		{0x01, "836F8A82", true, 3, true,
			"misfire,fuel system,components,NOx or SCR,boost pressure,EGR or VVT",
			"fuel system,components,NOx or SCR,EGR or VVT", computed},
	} {
		r, err := MonitorStatus(v.pid, unhex(t, v.data))
		if err != nil {
			t.Fatal(err)
		}
		var available, undone []string
		for _, test := range r.Tests {
			if test.Available {
				available = append(available, test.Name)
				if !test.Complete {
					undone = append(undone, test.Name)
				}
			}
		}
		if r.MIL != v.mil || r.Codes != v.codes || r.Compression != v.compression ||
			strings.Join(available, ",") != v.available || strings.Join(undone, ",") != v.undone {
			t.Errorf("%s (%s): %+v\navailable %v\nnot complete %v", v.data, v.source, r, available, undone)
		}
		if r.Incomplete() != len(undone) {
			t.Errorf("%s: Incomplete = %d, want %d", v.data, r.Incomplete(), len(undone))
		}
	}
}
