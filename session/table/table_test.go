package table

import (
	"bytes"
	"errors"
	"io"
	"math"
	"reflect"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
)

// take imports a text; a failed import gives nothing.
func take(file string) ([]pids.Sample, []string, error) {
	got, err := Import(strings.NewReader(file), "f.csv", nil)
	if got == nil {
		return nil, nil, err
	}
	return got.Samples, got.Notes, err
}

// export writes the long form.
func export(w io.Writer, samples []pids.Sample) error {
	return (&Sheet{Samples: samples}).WriteLong(w, Style{})
}

func TestImport_Reads(t *testing.T) {
	rpm := func(at time.Duration, v float64) pids.Sample { return pids.Sample{At: at, Signal: pids.RPM, Value: v} }
	for _, c := range []struct {
		name, file string
		want       []pids.Sample
		notes      []string
	}{
		{"plain", "time_s,signal,value\n0,RPM,800\n0.04,RPM,812.5\n",
			[]pids.Sample{rpm(0, 800), rpm(40*time.Millisecond, 812.5)}, nil},
		{"other order, all columns", "unit,value,ecu,time_s,signal\nrpm,800,7E8,1.5,RPM\n",
			[]pids.Sample{{At: 1500 * time.Millisecond, ECU: "7E8", Signal: pids.RPM, Value: 800}}, nil},
		{"byte order mark, CRLF, no last line feed", "\ufefftime_s,signal,value\r\n0,RPM,800\r\n1,RPM,801",
			[]pids.Sample{rpm(0, 800), rpm(time.Second, 801)}, nil},
		{"blanks, quotes and capitals", "\"Time_s\", SIGNAL ,value\n \"0\", RPM , 8e2 \n", []pids.Sample{rpm(0, 800)}, nil},
		{"microseconds rounded", "time_s,signal,value\n0.0000004,RPM,1\n0.0000006,RPM,2\n12.3456789,RPM,3\n",
			[]pids.Sample{rpm(0, 1), rpm(time.Microsecond, 2), rpm(12345679*time.Microsecond, 3)}, nil},
		{"signals one after the other", "time_s,signal,value\n0,RPM,800\n2,RPM,801\n1,VSS,50\n",
			[]pids.Sample{rpm(0, 800), {At: time.Second, Signal: pids.VSS, Value: 50}, rpm(2*time.Second, 801)}, nil},
		{"same signal of two ECUs", "time_s,ecu,signal,value\n2,7E8,RPM,802\n1,7E9,RPM,801\n",
			[]pids.Sample{{At: time.Second, ECU: "7E9", Signal: pids.RPM, Value: 801}, {At: 2 * time.Second, ECU: "7E8", Signal: pids.RPM, Value: 802}}, nil},
		{"same time keeps order", "time_s,signal,value\n1,RPM,1\n1,RPM,2\n1,RPM,3\n",
			[]pids.Sample{rpm(time.Second, 1), rpm(time.Second, 2), rpm(time.Second, 3)}, nil},
		{"small letters", "time_s,signal,value\n0,rpm,800\n1,rpm,801\n", []pids.Sample{rpm(0, 800), rpm(time.Second, 801)},
			[]string{`line 2: signal "rpm" taken as RPM`}},
		{"unknown signal and unit", "time_s,signal,value,unit\n0,slip of the clutch,3,furlongs\n",
			[]pids.Sample{{Signal: "slip of the clutch", Value: 3}}, []string{`line 2: signal "slip of the clutch" is not known here: it is kept under this name and not used`}},
		{"other columns", "time_s,signal,value,lat,lon\n0,RPM,800,1,2\n", []pids.Sample{rpm(0, 800)},
			nil},
		{"spellings of units", "time_s,signal,value,unit\n0,RPM,800,1/min\n0,VSS,50,KM/H\n0,ECT,90,degC\n0,TP,10,percent\n0,MAP,40,\n",
			[]pids.Sample{rpm(0, 800), {Signal: pids.VSS, Value: 50}, {Signal: pids.ECT, Value: 90}, {Signal: pids.TP, Value: 10}, {Signal: pids.MAP, Value: 40}}, nil},
		{"converted", "time_s,signal,value,unit\n0,VSS,50,mph\n1,engine speed,900,rpm\n", []pids.Sample{{Signal: pids.VSS, Value: 50 * 1.609344}, rpm(time.Second, 900)},
			[]string{"line 2: VSS is converted from mph into km/h", `line 3: signal "engine speed" taken as RPM`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, notes, err := take(c.file)
			if err != nil || !reflect.DeepEqual(got, c.want) || !reflect.DeepEqual(notes, c.notes) {
				t.Errorf("error %v\n got %+v %q\nwant %+v %q", err, got, notes, c.want, c.notes)
			}
		})
	}
}

func TestImport_Refuses(t *testing.T) {
	const head = "time_s,signal,value\n"
	const unitHead = "time_s,signal,value,unit\n"
	refuses(t, []refusal{
		{"empty", "", ErrEmpty, 0, "", "time_s,signal,value"},
		{"mark only", "\ufeff", ErrEmpty, 0, "", "first line names"},
		{"header only", head, ErrEmpty, 0, "", "no readings"},
		{"no header", "0,RPM,800\n", ErrNoTime, 1, "", "time_s"},
		{"numbers only", "0,800,40\n", ErrHeader, 1, "", "must name the columns"},
		{"column missing", "time_s,value\n0,1\n", ErrHeader, 1, "", "signal and value"},
		{"column twice", "time_s,signal,value,Value\n0,RPM,1,1\n", ErrHeader, 1, "Value", "once"},
		{"first column twice", "time_s,time_s,signal,value\n0,0,RPM,1\n", ErrHeader, 1, "time_s", "once"},
		{"decimal comma", head + "0,RPM,800,5\n", ErrShape, 2, "", "decimal point"},
		{"decimal comma in quotes", head + "0,RPM,\"800,5\"\n", ErrDecimal, 2, "value", "with a point"},
		{"decimal comma in a time", head + "0,RPM,1\n\"0,5\",RPM,1\n", ErrDecimal, 3, "time_s", "with a point"},
		{"too few columns", head + "0,RPM\n", ErrShape, 2, "", "2 of 3"},
		{"open quote", head + "0,\"RPM,800\n", ErrShape, 2, "", "quotes"},
		{"stray quote", head + "0,R\"PM,800\n", ErrShape, 2, "", "quotes"},
		{"text for a value", head + "0,RPM,1\n0,RPM,fast\n", ErrNumber, 3, "value", `"fast"`},
		{"unit in a value", head + "0,RPM,800rpm\n", ErrNumber, 2, "value", "without a unit"},
		{"hexadecimal", head + "0,RPM,0x1p4\n", ErrNumber, 2, "value", "decimal"},
		{"no value", head + "0,RPM,\n", ErrNumber, 2, "value", "empty"},
		{"no time", head + ",RPM,1\n", ErrNumber, 2, "time_s", "empty"},
		{"NaN", head + "0,RPM,NaN\n", ErrFinite, 2, "value", "NaN"},
		{"infinite", head + "0,RPM,-inf\n", ErrFinite, 2, "value", "-inf"},
		{"infinite time", head + "Infinity,RPM,1\n", ErrFinite, 2, "time_s", "Infinity"},
		{"out of range", head + "0,RPM,1e999\n", ErrFinite, 2, "value", "1e999"},
		{"negative time", head + "-0.5,RPM,1\n", ErrTime, 2, "time_s", "take the first time off"},
		{"later than a drive lasts", head + "1000001,RPM,1\n", ErrTime, 2, "time_s", "take the first time off"},
		{"no signal", head + "0,,1\n", ErrText, 2, "signal", "SAE J1979"},
		{"escape in a signal", head + "0,\"R\x1b[2JPM\",1\n", ErrText, 2, "signal", "control"},
		{"C1 control in a signal", head + "0,R\u009bPM,1\n", ErrText, 2, "signal", "control"},
		{"no UTF-8 in a signal", head + "0,R\xffPM,1\n", ErrText, 2, "signal", "control"},
		{"escape in an ECU", "time_s,ecu,signal,value\n0,\"\a\",RPM,1\n", ErrText, 2, "ecu", "7E8"},
		{"furlongs", unitHead + "0,VSS,50,km/h\n1,VSS,31,furlong/h\n", ErrUnit, 3, "unit", "VSS is in km/h"},
		{"a temperature in volts", unitHead + "0,ECT,194,V\n", ErrUnit, 2, "unit", "ECT is in °C"},
	})
}

func TestImport_RefusesTables(t *testing.T) {
	const head = "time_s,signal,value\n"
	refuses(t, []refusal{
		{"a spreadsheet's own file", "PK\x03\x04\x14\x00\x06\x00", ErrBinary, 0, "", "save the table as CSV"},
		{"one column", "time\n0\n", ErrHeader, 1, "", "one column"},
		{"mixed separators", "time_s,RPM;VSS\n0,800;40\n", ErrSeparator, 1, "", "commas, semicolons or tabs"},
		{"another separator below", "time_s;RPM;VSS\n0;800;40\n1,800,40\n", ErrSeparator, 3, "", "one separator in the whole file"},
		{"no time", "RPM,VSS\n800,40\n", ErrNoTime, 1, "", "--map"},
		{"no signal", "time_s,date\n1,2026-03-01\n", ErrNothing, 1, "", "RPM"},
		{"unit not known", "time_s,VSS (furlong/h)\n1,2\n", ErrNothing, 1, "", "km/h, mph"},
		{"seconds or milliseconds", "time,RPM\n0,800\n40,801\n80,802\n", ErrTimeUnit, 1, "time", "time_ms"},
		{"back in time", "time_s,RPM\n2,802\n1,801\n", ErrBack, 3, "time_s", "1.0 s earlier"},
		{"back in time, one signal", head + "2,RPM,802\n1.5,VSS,40\n1,RPM,801\n", ErrBack, 4, "time_s", "order"},
		{"no time of day", "time,RPM\nnoon,800\n", ErrNumber, 2, "time", "noon"},
		{"hours and minutes", "time,RPM\n14:30,800\n", ErrTime, 2, "time", "14:30:00.250"},
		{"another form of time", "time,RPM\n14:30:00,800\n2026-03-01 14:30:01,801\n", ErrClock, 3, "time", "alike"},
		{"a day that is none", "time,RPM\n2026-02-30T14:30:00,800\n", ErrTime, 2, "time", "2026-03-01T14:30:00.250"},
		{"two marks", "time_s;RPM\n0,5;800\n1.5;801\n", ErrMarks, 3, "time_s", "one decimal mark"},
		{"two marks in a value", "time_s;RPM\n0,5;800,5\n1,5;801.5\n", ErrMarks, 3, "RPM", "one decimal mark"},
		{"thousands", "time_s,RPM\n0,850.5\n1,\"1,700.5\"\n", ErrThousands, 3, "RPM", "1,700.5"},
		{"thousands with points", "time_s;RPM\n0;850,5\n1;1.700,5\n", ErrThousands, 3, "RPM", "without them"},
		{"millions", "time_s;RPM\n0;1,000,000\n", ErrThousands, 2, "RPM", "without them"},
		{"thousands or decimals", "time_s,RPM\n0,850\n1,\"1,700\"\n", ErrDecimal, 3, "RPM", "thousands without a mark"},
		{"units in the cells", "time_s,RPM,VSS\n0,1700 rpm,70 km/h\n", ErrNumber, 2, "RPM", "without a unit"},
		{"decimal comma in a wide file", "time_s,RPM\n0,\"800,5\"\n", ErrDecimal, 2, "RPM", "semicolons"},
		{"too few columns in a wide file", "time_s,RPM,VSS\n0,800,40\n1,800\n2,800,40\n", ErrShape, 3, "", "2 of 3 columns"},
	})
}

// refusal is a file that is refused: why, where, and what is said.
type refusal struct {
	name, file string
	want       error
	line       int
	column     string
	says       string
}

func refuses(t *testing.T, cases []refusal) {
	t.Helper()
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			samples, notes, err := take(c.file)
			var e *Error
			if !errors.As(err, &e) || !errors.Is(err, c.want) || samples != nil || notes != nil {
				t.Fatalf("samples %v, notes %q, error %v; want %v", samples, notes, err, c.want)
			}
			if e.Line != c.line || e.Column != c.column || e.File != "f.csv" {
				t.Errorf("at %s line %d column %q, want line %d column %q", e.File, e.Line, e.Column, c.line, c.column)
			}
			if text := err.Error(); !strings.Contains(text, c.says) || !strings.HasPrefix(text, "f.csv") || prose.Clean(text) != text {
				t.Errorf("says %q, want %q in it", text, c.says)
			}
		})
	}
}

func TestImport_ReadError(t *testing.T) {
	broken := io.MultiReader(strings.NewReader("time_s,signal,value\n0,RPM,1\n"), iotest.ErrReader(io.ErrNoProgress))
	_, err := Import(broken, "card.csv", nil)
	var e *Error
	if !errors.Is(err, io.ErrNoProgress) || !errors.As(err, &e) || e.Line != 3 {
		t.Errorf("error %v", err)
	}
}

func TestError_LongCellIsCut(t *testing.T) {
	_, _, err := take("time_s,signal,value\n0,RPM," + strings.Repeat("ä", 5000) + "\n")
	if err == nil || len(err.Error()) > 300 {
		t.Errorf("error %v", err)
	}
}

func TestExport_Writes(t *testing.T) {
	samples := []pids.Sample{
		{At: 1500001 * time.Microsecond, ECU: "7E8", Signal: pids.RPM, Value: 1726.25},
		{At: 40 * time.Millisecond, Signal: pids.ECT, Value: -40},
		{At: 40 * time.Millisecond, Signal: `odd, "name"`, Value: 1.0 / 3},
		{At: 2 * time.Hour, Signal: pids.VSS, Value: math.NaN()},
		{At: 2*time.Hour + 999, Signal: "BIG", Value: 1e300},
		{At: -1500 * time.Millisecond, Signal: "TINY", Value: 1e-300},
	}
	before := append([]pids.Sample(nil), samples...)
	const want = `time_s,ecu,signal,value,unit
-1.500000,,TINY,1e-300,
0.040000,,ECT,-40,°C
0.040000,,"odd, ""name""",0.3333333333333333,
1.500001,7E8,RPM,1726.25,rpm
7200.000000,,VSS,,km/h
7200.000000,,BIG,1e+300,
`
	var out bytes.Buffer
	if err := export(&out, samples); err != nil || out.String() != want {
		t.Errorf("error %v\n got\n%s\nwant\n%s", err, out.String(), want)
	}
	for i := range samples {
		if samples[i].At != before[i].At {
			t.Fatalf("the argument was sorted: %+v", samples)
		}
	}
}

func TestExport_WriteError(t *testing.T) {
	if err := export(failing{}, make([]pids.Sample, 10)); !errors.Is(err, io.ErrClosedPipe) || !strings.Contains(err.Error(), "room") {
		t.Errorf("error %v", err)
	}
	if err := export(failing{}, make([]pids.Sample, 10_000)); !errors.Is(err, io.ErrClosedPipe) {
		t.Errorf("error %v with more than a buffer", err)
	}
}

// failing takes nothing.
type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, io.ErrClosedPipe }

func FuzzImport(f *testing.F) {
	f.Add("time_s,signal,value\n0,RPM,800\n")
	f.Add("\ufefftime_s;signal;value\r\n0;RPM;800\r\n")
	f.Add("time_s,ecu,signal,value,unit\n1,7E8,vss,50,mph\n")
	f.Add("time_s,signal,value\n\"0,5\",RPM,1e999\n")
	f.Add("time;Engine speed (rpm);speed [mph];Boost {bar};mark\n23:59:59,96;800,5;;1;felt\n00:00:00,00;801;30,5;1;a note\n")
	f.Add("Date\tTime\tRPM@7E8\tCoolant (\xb0F)\n03/12/2026\t2:30:05.25 pm\t800\t190\n03/13/2026\t2:30:05.25 am\t800\t190\n")
	f.Add("# by hand\nsep=;\nms;rpm\ns;\n1772375400123;1\n1772375400163;2")
	// A column's name with broken bytes was noted as it came.
	f.Add("time_s,ec&\xda\xc1\x02\xe5nD\xca\xccڗ\x12\xb0\xaf\x93\ue3a8\xed\xa9\b\xc9s\xb6d\xd3u,signal,value,unit\n1,7E8,vss,50,")
	f.Fuzz(func(t *testing.T, file string) {
		samples, notes, err := take(file)
		if err != nil {
			if samples != nil || prose.Clean(err.Error()) != err.Error() {
				t.Fatalf("samples %v, error %q", samples, err)
			}
			return
		}
		for _, n := range notes {
			if prose.Clean(n) != n {
				t.Fatalf("control character in %q", n)
			}
		}
		var out bytes.Buffer
		if err := export(&out, samples); err != nil {
			t.Fatal(err)
		}
		if err := (&Sheet{Samples: samples}).WriteWide(io.Discard, Style{}); err != nil {
			t.Fatal(err)
		}
		again, _, err := take(out.String())
		if err != nil || !reflect.DeepEqual(again, samples) {
			t.Fatalf("after a round trip: %v\n%+v\n%+v", err, again, samples)
		}
	})
}

func BenchmarkImport(b *testing.B) {
	samples := make([]pids.Sample, 10_000)
	for i := range samples {
		samples[i] = pids.Sample{At: time.Duration(i) * 40 * time.Millisecond, ECU: "7E8", Signal: pids.RPM, Value: 800 + float64(i)/4}
	}
	var file bytes.Buffer
	if err := export(&file, samples); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Import(bytes.NewReader(file.Bytes()), "f.csv", nil); err != nil {
			b.Fatal(err)
		}
	}
}

func TestAppendSeconds(t *testing.T) {
	for _, c := range []struct {
		at   time.Duration
		want string
	}{
		{0, "0.000000"}, {999, "0.000000"}, {time.Microsecond, "0.000001"}, {-time.Microsecond, "-0.000001"},
		{1500 * time.Millisecond, "1.500000"}, {-61 * time.Second, "-61.000000"},
		{math.MaxInt64, "9223372036.854775"}, {math.MinInt64, "-9223372036.854775"},
	} {
		if got := string(appendSeconds(nil, c.at)); got != c.want {
			t.Errorf("%d ns: %s, want %s", c.at, got, c.want)
		}
	}
}
