package table

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/judder-obd/judder/pids"
)

// taken is an import in short: "signal@ecu at value" of each reading, or the error.
func taken(t *testing.T, file string) (*Imported, string) {
	t.Helper()
	got, err := Import(strings.NewReader(file), "f.csv", nil)
	if err != nil {
		return nil, err.Error()
	}
	var b strings.Builder
	for _, s := range got.Samples {
		name := string(s.Signal)
		if s.ECU != "" {
			name += "@" + s.ECU
		}
		fmt.Fprintf(&b, "%s %g %g, ", name, s.At.Seconds(), s.Value)
	}
	return got, strings.TrimSuffix(b.String(), ", ")
}

// Tables as people have them.
func TestImport_Wide(t *testing.T) {
	utf16le := func(s string) string {
		b := []byte{0xff, 0xfe}
		for _, u := range utf16.Encode([]rune(s)) {
			b = append(b, byte(u), byte(u>>8))
		}
		return string(b)
	}
	for _, c := range []struct{ name, file, want string }{
		{"acronyms", "time_s,RPM,VSS\n0,800,0\n0.1,810.25,\n", "RPM 0 800, VSS 0 0, RPM 0.1 810.25"},
		{"names and units", "Time (s),Engine speed [rpm],Vehicle Speed (mph),Coolant temperature {°F}\n1,800,10,212\n", "RPM 1 800, VSS 1 16.09344, ECT 1 100"},
		{"units after the name", "t_ms,engine_speed_rpm,speed_kmh,throttle %,battery V,Speed/km/h\n250,800,40,12,14.1,7\n", "RPM 0.25 800, VSS 0.25 40, TP 0.25 12, VPWR 0.25 14.1"},
		{"semicolons and decimal commas", "Zeit;time;RPM;MAP (psi)\n;0,5;812,25;14,5\n;0,75;812,5;-\n", "RPM 0.5 812.25, MAP 0.5 99.9739765, RPM 0.75 812.5"},
		{"tabs", "time\tRPM\n0.5\t800\n1\t801\n", "RPM 0.5 800, RPM 1 801"},
		{"bars", "time|RPM\n0.5|800\n", "RPM 0.5 800"},
		{"commas within semicolons", "time, s;speed, km/h\n0,5;40\n", "VSS 0.5 40"},
		{"byte order mark", "\ufefftime_s;RPM\r\n1;800\r\n", "RPM 1 800"},
		{"UTF-16", utf16le("time_s\tRPM\tECT (°C)\r\n1\t800\t90\r\n"), "RPM 1 800, ECT 1 90"},
		{"Latin-1", "time_s,RPM,ECT (\xb0F)\n1,800,32\n", "RPM 1 800, ECT 1 0"},
		{"comments and sep=", "# drive\n\nsep=;\ntime_s;RPM, engine\n1;800\n", "RPM, engine 1 800"},
		{"a row of units", "time,RPM,speed,coolant\nms,,mph,°C\n1500,800,100,90\n", "RPM 1.5 800, VSS 1.5 160.9344, ECT 1.5 90"},
		{"milliseconds", "elapsed_ms,RPM\n1500,800\n1540,801\n", "RPM 1.5 800, RPM 1.54 801"},
		{"milliseconds, name alone", "ms,RPM\n1500,800\n", "RPM 1.5 800"},
		{"minutes", "time (min),RPM\n0.5,800\n", "RPM 30 800"},
		{"since 1970, ms", "timestamp,RPM\n1772375400250,800\n1772375400290,801\n", "RPM 0 800, RPM 0.04 801"},
		{"since 1970, unit given", "timestamp (ms),RPM\n1772375400250,800\n1772375400290,801\n", "RPM 0 800, RPM 0.04 801"},
		{"two control units", "time_s,RPM@7E8 [rpm],RPM@7E9\n1,800,801\n", "RPM@7E8 1 800, RPM@7E9 1 801"},
		{"words for nothing", "time_s,RPM,VSS\n1,NaN,40\n2,n/a,-\n3,800,null\n", "VSS 1 40, RPM 3 800"},
		{"no numbers among them", "time_s,RPM,VSS\n1,800,ERR\n2,801,0x10\n3,802,42\n", "RPM 1 800, RPM 2 801, RPM 3 802, VSS 3 42"},
		{"a name of its own", "time_s,RPM,Boost [bar]\n1,800,0.4\n", "RPM 1 800, Boost [bar] 1 0.4"},
		{"empty columns at the end", "time_s;RPM;;\n1;800;;\n2;801\n3;802;;;\n", "RPM 1 800, RPM 2 801, RPM 3 802"},
		{"cut off", "time_s,RPM,VSS\n1,800,40\n2,80", "RPM 1 800, VSS 1 40"},
	} {
		if _, got := taken(t, c.file); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
		}
	}
}

// What each column was taken for, and why not.
func TestImport_Columns(t *testing.T) {
	file := "time,RPM,Engine speed,Speed (furlong/h),Comment,Road,Latitude,event,,Load [%],\x1b[2J\n" +
		"0,800,801,30,start,,49.1,shudder,,12,1\n0.1,800,802,31,,,49.2,,,off,2\n"
	got, text := taken(t, file)
	if got == nil {
		t.Fatal(text)
	}
	want := []struct {
		use      Use
		why      Why
		signal   pids.Signal
		readings int
	}{
		{TimeUse, Used, "", 0}, {SignalUse, Used, "RPM", 2}, {Unused, Twice, "RPM", 0}, {Unused, BadUnit, "VSS", 0}, {Unused, NoNumber, "Comment", 0},
		{Unused, Empty, "Road", 0}, {SignalUse, Used, "Latitude", 2}, {Unused, Findings, "", 0}, {Unused, BadName, "", 0}, {SignalUse, Used, "LOAD_PCT", 1}, {Unused, BadName, "", 0},
	}
	for i, w := range want {
		c := got.Columns[i]
		if c.Number != i+1 || c.Use != w.use || c.Why != w.why || c.Signal != w.signal || c.Readings != w.readings {
			t.Errorf("column %d: %+v, want %+v", i+1, c, w)
		}
	}
	if load := got.Columns[9]; load.Text != 1 || load.First != "off" || load.Line != 3 {
		t.Errorf("load: %+v", load)
	}
	if got.Columns[1].Same != 1 || got.Rows != 2 || got.Long || got.Separator != ',' || got.Time != Elapsed || got.TimeUnit != "" {
		t.Errorf("%+v", got)
	}
}

// Wall clock times in the forms of ISO 8601 (its own examples of a calendar date with a time of day, in
// basic and extended format) and others in common use.
func TestImport_Clock(t *testing.T) {
	utc := time.Date(2026, 3, 1, 14, 30, 0, 250e6, time.UTC)
	here := time.Date(2026, 3, 1, 14, 30, 0, 250e6, time.Local)
	for _, c := range []struct {
		head, first, second string
		apart               time.Duration
		start               time.Time
	}{
		{"time", "2026-03-01T14:30:00.250Z", "2026-03-01T14:30:00.290Z", 40 * time.Millisecond, utc},
		{"time", "2026-03-01T15:30:00.25+01:00", "2026-03-01T13:30:00.29-01:00", 40 * time.Millisecond, utc},
		{"time", "20260301T143000.25Z", "20260301T143001.25Z", time.Second, utc},
		{"time", "2026-03-01 14:30:00.25", "2026-03-02 00:00:00", 9*time.Hour + 30*time.Minute - 250*time.Millisecond, here},
		{"time", "2026/03/01 14:30:00.25", "2026/03/01 14:30:01.25", time.Second, here},
		{"time", "01.03.2026 14:30:00.25", "02.03.2026 14:30:00.25", 24 * time.Hour, here},
		{"time", "1-Mar-2026 2:30:00.25 PM", "2-Mar-2026 2:30:00.25 AM", 12 * time.Hour, here},
		{"date,time", "2026-03-01,14:30:00.25", "2026-03-01,14:30:01.25", time.Second, here},
		{"time", "03/13/2026 14:30:00", "03/14/2026 14:30:00", 24 * time.Hour, time.Date(2026, 3, 13, 14, 30, 0, 0, time.Local)},
		{"time", "12/03/2026 23:59:59", "13/03/2026 00:00:00", time.Second, time.Date(2026, 3, 12, 23, 59, 59, 0, time.Local)},
		{"time", "03/12/2026 23:59:59", "03/13/2026 00:00:00", time.Second, time.Date(2026, 3, 12, 23, 59, 59, 0, time.Local)},
		{"time", "01/03/2026 23:59:58", "01/03/2026 23:59:59", time.Second, time.Time{}}, // the first of March, or the third of January
		{"time", "14:30:00.250", "14:30:00.290", 40 * time.Millisecond, time.Time{}},
		{"time", "14:30:00:250", "14:30:00:290", 40 * time.Millisecond, time.Time{}},
		{"time", "23:59:59.9", "00:00:00.1", 200 * time.Millisecond, time.Time{}},
		{"time", "11:59:59 p.m.", "12:00:01 a.m.", 2 * time.Second, time.Time{}},
		{"time", "59:59.9", "00:00.1", 200 * time.Millisecond, time.Time{}},
		{"elapsed", "0:00:00.5", "0:00:01", 500 * time.Millisecond, time.Time{}},
		{"elapsed", "23:59:59", "24:00:01", 2 * time.Second, time.Time{}},
	} {
		got, text := taken(t, c.head+",RPM\n"+c.first+",800\n"+c.second+",801\n")
		if got == nil {
			t.Errorf("%s: %s", c.first, text)
			continue
		}
		if got.Samples[0].At != 0 || got.Samples[1].At != c.apart || !got.Start.Equal(c.start) {
			t.Errorf("%s, %s: %v after %v from %v, want %v from %v", c.first, c.second, got.Samples[1].At, got.Samples[0].At, got.Start, c.apart, c.start)
		}
	}
	for _, two := range []string{"2026-03-02 10:00:00/2026-03-01 10:00:00", "14:30:00/14:29:59", "2026-03-01T10:00:00Z/2026-03-01T10:00:01", "25:00:00/2:00:00"} {
		first, second, _ := strings.Cut(two, "/")
		if got, text := taken(t, "time,RPM\n"+first+",800\n"+second+",801\n"); got != nil || !strings.Contains(text, "line 3") {
			t.Errorf("%s then %s: %s", first, second, text)
		}
	}
	// In a file of one signal after the other the clock goes over midnight and back.
	got, _ := taken(t, "time,signal,value\n23:59:59,RPM,1\n00:00:01,RPM,2\n23:59:59,VSS,3\n00:00:01,VSS,4\n")
	if got == nil || got.Samples[3].At != 2*time.Second || got.Samples[1].At != 0 || got.Midnights != 1 {
		t.Errorf("one signal after the other: %+v", got)
	}
}

// Conversions against GNU Units 2.22 ("units -t '49 mph' km/hour" and so on).
func TestConversion(t *testing.T) {
	for _, c := range []struct {
		unit, own   string
		value, want float64
	}{
		{"mph", "km/h", 49, 78.857856}, {"Knots", "km/h", 100, 185.2}, {"psi", "kPa", 14.7, 101.35293}, {"inHg", "kPa", 30, 101.59166},
		{"mmHg", "kPa", 760, 101.32501}, {"lb-ft", "N·m", 100, 135.58179}, {"°F", "°C", 194, 90}, {"K", "°C", 300, 26.85},
		{"lb/min", "g/s", 10, 75.598728}, {"rad/s", "rpm", 104.72, 1000.0023}, {"mbar", "kPa", 1013, 101.3}, {"ms", "s", 250, 0.25}, {"min", "min", 3, 3}, {"s", "min", 90, 1.5}, {"kPa", "Pa", 2, 2000},
		{"1/min", "rpm", 800, 800}, {"KM/H", "km/h", 50, 50}, {"degC", "°C", 90, 90}, {"", "km/h", 50, 50}, {"anything", "", 5, 5},
	} {
		s, ok := conversion(c.unit, c.own)
		if got := s.of(c.value); !ok || got-c.want > 1e-6*c.want || c.want-got > 1e-6*c.want {
			t.Errorf("%g %s is %g %s (%v), want %g", c.value, c.unit, got, c.own, ok, c.want)
		}
	}
	for _, c := range [][2]string{{"V", "km/h"}, {"furlong/h", "km/h"}, {"°F", "K"}, {"rps", "V"}} {
		if s, ok := conversion(c[0], c[1]); ok {
			t.Errorf("%s into %s: %+v", c[0], c[1], s)
		}
	}
}

// No spelling stands for two units.
func TestUnitsDiffer(t *testing.T) {
	seen := map[string]string{}
	for _, u := range units {
		for _, s := range append([]string{strings.ToLower(u.unit)}, u.also...) {
			if before, twice := seen[s]; twice || s != strings.ToLower(s) {
				t.Errorf("%q is %s and %s, or not in lower case", s, u.unit, before)
			}
			seen[s] = u.unit
		}
	}
}

func TestMapping(t *testing.T) {
	const toml = `
[time]
heading = "Zeit"
unit = "ms"

[[column]]
heading = "Drehzahl"
signal = "engine speed"
ecu = "7E8"

[[column]]
heading = "Geschw."
signal = "VSS"
unit = "mph"

[[column]]
heading = "Bemerkung"
ignore = true

[[column]]
heading = "Druck"
signal = "BOOST"
`
	m, err := ParseMapping("m.toml", []byte(toml))
	if err != nil {
		t.Fatal(err)
	}
	got, err := Import(strings.NewReader("Zeit;drehzahl;Geschw.;Bemerkung;Druck;time\n250;800;10;5;1,5;9\n"), "f.csv", m)
	want := []pids.Sample{{At: 250 * time.Millisecond, ECU: "7E8", Signal: pids.RPM, Value: 800}, {At: 250 * time.Millisecond, Signal: pids.VSS, Value: 16.09344},
		{At: 250 * time.Millisecond, Signal: "BOOST", Value: 1.5}}
	if err != nil || !slices.Equal(got.Samples[:3], want) || got.Columns[3].Why != Ignored {
		t.Errorf("%v %+v", err, got)
	}
	got, err = Import(strings.NewReader("Zeit;signal;value\n250;Drehzahl;800\n260;Geschw.;10\n"), "f.csv", m)
	want = []pids.Sample{{At: 250 * time.Millisecond, ECU: "7E8", Signal: pids.RPM, Value: 800}, {At: 260 * time.Millisecond, Signal: pids.VSS, Value: 16.09344}}
	if err != nil || !reflect.DeepEqual(got.Samples, want) {
		t.Errorf("the long form: %v %+v", err, got)
	}
	for _, c := range []struct{ toml, file, says string }{
		{"", "Zeit;Drehzahl\n1;2\n", "no column holds the time"},
		{"[time]\nheading = \"Uhr\"\n", "Zeit;RPM\n1;2\n", `there are "Zeit", "RPM"`},
		{"[[column]]\nheading = \"x\"\nsignal = \"RPM\"\n", "time;Drehzahl\n1;2\n", `"x": the mapping file does not fit; it names a column that is not there`},
		{"[time]\nheading = \"Zeit\"\nunit = \"V\"\n", "", "s, ms, µs"},
		{"[time]\nunit = \"s\"\n", "", "heading is missing"},
		{"[[column]]\nsignal = \"RPM\"\n", "", "heading is missing"},
		{"[[column]]\nheading = \"x\"\n", "", "ignore = true"},
		{"[[column]]\nheading = \"x\"\nsignal = \"RPM\"\nunit = \"mph\"\n", "", "RPM is in rpm"},
		{"[[column]]\nheading = \"x\"\nsignal = \"a\\u001bb\"\n", "", "control characters"},
		{"[time]\nheadng = \"x\"\n", "", "line 2: \"time.headng\""},
		{"[time\n", "", "m.toml, line 1"},
		{"[[column]]\nheading = 3\n", "", "line 2"},
	} {
		m, err := ParseMapping("m.toml", []byte(c.toml))
		if err == nil {
			_, err = Import(strings.NewReader(c.file), "f.csv", m)
		}
		var e *Error
		if !errors.As(err, &e) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v, want %q", c.toml, err, c.says)
		}
	}
}

func TestOnlyChanges(t *testing.T) {
	var samples []pids.Sample
	for i, v := range []float64{0, 0, 800, 800, 800, 801, 800} {
		samples = append(samples, pids.Sample{At: time.Duration(i), Signal: pids.RPM, Value: v}, pids.Sample{At: time.Duration(i), Signal: pids.VSS, Value: 50})
	}
	var rpm []float64
	vss := 0
	for _, s := range OnlyChanges(samples, pids.RPM) {
		if s.Signal == pids.RPM {
			rpm = append(rpm, s.Value)
		} else {
			vss++
		}
	}
	if !slices.Equal(rpm, []float64{0, 0, 800, 801, 800}) || vss != 7 {
		t.Errorf("%v, %d", rpm, vss)
	}
}
