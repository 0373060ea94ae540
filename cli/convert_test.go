package cli

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/fixtures"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session/table"
	"github.com/judder-obd/judder/simcar/drivetrain"
)

// inFolder writes files into a new folder.
func inFolder(t *testing.T, files map[string]string) (dir string) {
	t.Helper()
	dir = t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// What is printed of each column, and the readings come out again as they went in.
func TestImport_SaysWhatItTook(t *testing.T) {
	dir := inFolder(t, map[string]string{
		"a.csv": "time;Motor;Speed (mph);Coolant temperature;TP;Comment;Other\n" +
			"23:59:59,5;1650,125;50;29,38;17,3;start;1\n00:00:00,5;1651;;29,4;x;;2\n00:00:01,5;1652;51;;18;;3\n",
		"map.toml": "[[column]]\nheading = \"Motor\"\nsignal = \"RPM\"\n",
	})
	out := filepath.Join(dir, "a.jsonl")
	code, _, stderr := judder(t, "import", filepath.Join(dir, "a.csv"), "--map", filepath.Join(dir, "map.toml"), "--out", out)
	if code != exitOK {
		t.Fatalf("import: %d, %s", code, stderr)
	}
	for _, want := range []string{
		"one column a signal, semicolons between the columns, decimal comma, 3 rows",
		`column 1 "time": time, time of day, 2.0 s long, past midnight`,
		`column 2 "Motor": RPM, engine speed, taken as rpm, 3 readings`,
		`column 3 "Speed (mph)": VSS, vehicle speed, converted from mph into km/h, 2 readings`,
		`column 5 "TP": TP, absolute throttle position A, taken as %, 2 readings; left out "x" in line 3: no number`,
		`column 6 "Comment": not used: no cell is a number; line 2 has "start"`,
		`column 7 "Other": kept under this name; judder does not use it, 3 readings`,
		"12 readings in ",
	} {
		if !strings.Contains(stderr, want) {
			t.Errorf("import does not say %q:\n%s", want, stderr)
		}
	}
	_, long, _ := judder(t, "export", out)
	for _, want := range []string{"0.000000,,RPM,1650.125,rpm\n", "0.000000,,VSS,80.4672,km/h\n", "0.000000,,ECT,29.38,°C\n", "0.000000,,TP,17.3,%\n", "2.000000,,Other,3,\n"} {
		if !strings.Contains(long, want) {
			t.Errorf("export has no %q:\n%s", want, long)
		}
	}
	_, wide, _ := judder(t, "export", out, "--wide", "--decimal-comma", "--bom")
	if !strings.HasPrefix(wide, "\ufefftime_s;RPM [rpm];VSS [km/h];ECT [°C];TP [%];Other;mark;event\n0,000000;1650,125;80,4672;29,38;17,3;1;;") {
		t.Errorf("export --wide: %s", wide)
	}
	// What was exported wide is the same drive again.
	again := filepath.Join(dir, "again.jsonl")
	if err := os.WriteFile(filepath.Join(dir, "wide.csv"), []byte(wide), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, stderr := judder(t, "import", filepath.Join(dir, "wide.csv"), "--out", again); code != exitOK {
		t.Fatalf("import of the export: %d, %s", code, stderr)
	}
	if _, got, _ := judder(t, "export", again); got != long {
		t.Errorf("after a round trip\n%s\nbefore\n%s", got, long)
	}
}

func TestImport_Doubts(t *testing.T) {
	var held strings.Builder
	held.WriteString("time,RPM\n")
	for i := range 20 {
		held.WriteString("0." + string(rune('0'+i/2)) + string(rune('0'+5*(i%2))) + "," + string(rune('1'+i/3)) + "00\n")
	}
	dir := inFolder(t, map[string]string{
		"held.csv": held.String(), "same.csv": "time,VSS\n14:30:00,1\n14:30:00,2\n14:30:01,3", "cut.csv": "time_s,RPM,VSS\n1,800,40\n2,80",
	})
	for name, want := range map[string]string{
		"held.csv": "13 of 20 readings of engine speed repeat", "same.csv": "1 of 3 rows have the time of the row before", "cut.csv": "line 3 is cut off",
	} {
		_, _, stderr := judder(t, "import", filepath.Join(dir, name), "--out", filepath.Join(dir, name+".jsonl"))
		if !strings.Contains(stderr, want) || name == "same.csv" && !strings.Contains(stderr, "shudder cannot be looked for; if one does under another heading, give a mapping file with --map (docs/tables.md)") {
			t.Errorf("%s: no %q in\n%s", name, want, stderr)
		}
	}
	_, _, stderr := judder(t, "import", filepath.Join(dir, "held.csv"), "--held", "--out", filepath.Join(dir, "once.jsonl"))
	if !strings.Contains(stderr, "7 readings in") {
		t.Errorf("--held: %s", stderr)
	}
}

// A real drive that was read about once a second cannot be judged; no more can it once a program has put
// ten rows a second between the readings. The same for a shudder of 100 rpm at 3.3 Hz, an invented one.
func TestImport_Interpolated(t *testing.T) {
	real, err := fixtures.Files.Open("drives/stopstart-road.csv")
	if err != nil {
		t.Fatal(err)
	}
	got, err := table.Import(real, "stopstart-road.csv", nil)
	if err != nil {
		t.Fatal(err)
	}
	var invented []pids.Sample
	for i := range 300 {
		at := time.Duration(i) * time.Second
		invented = append(invented, pids.Sample{At: at, Signal: pids.RPM, Value: 1700 + 50*math.Sin(2*math.Pi*3.3*at.Seconds()+0.5)}, pids.Sample{At: at, Signal: pids.VSS, Value: 80},
			pids.Sample{At: at, Signal: pids.LoadPct, Value: 40}, pids.Sample{At: at, Signal: "TP", Value: 20})
	}
	dir := t.TempDir()
	for name, read := range map[string][]pids.Sample{"real": got.Samples, "invented": invented} {
		csv, out := filepath.Join(dir, name+".csv"), filepath.Join(dir, name+".jsonl")
		if err := os.WriteFile(csv, []byte(tenASecond(read)), 0o600); err != nil {
			t.Fatal(err)
		}
		code, _, stderr := judder(t, "import", csv, "--out", out)
		if code != exitOK || !strings.Contains(stderr, " rows, about 10 a second, lie on straight lines between ") || !strings.Contains(stderr, "readings, about 1") {
			t.Errorf("%s: %d, %s", name, code, stderr)
		}
		if _, stdout, _ := judder(t, "review", out); !strings.Contains(unwrapped(stdout), "CANNOT TELL engine speed was read about once a second") {
			t.Errorf("%s: %s", name, stdout)
		}
	}
}

// tenASecond is a table with ten rows a second, each on the straight lines between the readings.
func tenASecond(read []pids.Sample) string {
	of := map[pids.Signal][]pids.Sample{}
	for _, s := range read {
		of[s.Signal] = append(of[s.Signal], s)
	}
	var b strings.Builder
	b.WriteString("time_s,signal,value\n")
	for signal, s := range of {
		at := s[0].At.Truncate(100*time.Millisecond) + 100*time.Millisecond
		for k := 0; k+1 < len(s); {
			if from, to := s[k], s[k+1]; at < to.At {
				fmt.Fprintf(&b, "%.1f,%s,%.2f\n", at.Seconds(), signal, from.Value+(to.Value-from.Value)*float64(at-from.At)/float64(to.At-from.At))
				at += 100 * time.Millisecond
			} else {
				k++
			}
		}
	}
	return b.String()
}

// Simulated drives, at the rates of slow links and fast ones, lose no reading.
func TestImport_SimulatedStaysWhole(t *testing.T) {
	for _, script := range []drivetrain.Script{drivetrain.RoadTest, drivetrain.AlwaysShudders, drivetrain.BeltCar, drivetrain.Surge} {
		for _, rate := range []float64{5, 60} {
			trip := drivetrain.New(drivetrain.Spec{Seed: 5, Length: 2 * time.Minute, Script: script})
			var b strings.Builder
			b.WriteString("time_s,RPM\n")
			rows := 0
			for _, r := range trip.Readings(drivetrain.Real(rate, 3)) {
				if r.Signal == drivetrain.RPM {
					rows++
					fmt.Fprintf(&b, "%.6f,%g\n", r.At.Seconds(), r.Value)
				}
			}
			got, err := table.Import(strings.NewReader(b.String()), "a.csv", nil)
			if err != nil || len(got.Samples) != rows || rows < 100 {
				t.Errorf("%s at %g/s: %v, of %d rows %d are kept", script, rate, err, rows, len(got.Samples))
			}
		}
	}
}

func TestImport_StandardInput(t *testing.T) {
	out := filepath.Join(t.TempDir(), "in.jsonl")
	var stdout, stderr bytes.Buffer
	code := run(t.Context(), computer{}, []string{"import", "-", "--out", out}, strings.NewReader("time_s,signal,value\n0,RPM,800\n0.1,RPM,801\n"), &stdout, &stderr)
	if code != exitOK || !strings.Contains(stderr.String(), "standard input: signal RPM, engine speed, rpm, 2 readings\n") {
		t.Fatalf("%d, %s", code, stderr.String())
	}
	if _, got, _ := judder(t, "export", out, "--out", "-"); got != "time_s,ecu,signal,value,unit\n0.000000,,RPM,800,rpm\n0.100000,,RPM,801,rpm\n" {
		t.Error(got)
	}
}

// Several recordings become a file each; what cannot be read stops nothing, and nothing is overwritten.
func TestExport_Several(t *testing.T) {
	dir := inFolder(t, map[string]string{"a.csv": "time_s,RPM\n0,800\n0.1,801\n", "bad.jsonl": "hello\n"})
	out := t.TempDir()
	for _, name := range []string{"w1.jsonl", "w2.jsonl"} {
		if code, _, stderr := judder(t, "import", filepath.Join(dir, "a.csv"), "--out", filepath.Join(dir, name)); code != exitOK {
			t.Fatal(stderr)
		}
	}
	code, _, stderr := judder(t, "export", dir, "--parquet", "--out", out)
	if code != exitFailed || !strings.Contains(stderr, "1 of 3 files could not be exported") || !strings.Contains(stderr, "2 files written") {
		t.Errorf("exit %d, %s", code, stderr)
	}
	for _, name := range []string{"w1.parquet", "w2.parquet"} {
		text, err := os.ReadFile(filepath.Join(out, name))
		if err != nil || !bytes.HasPrefix(text, []byte("PAR1")) || !bytes.HasSuffix(text, []byte("PAR1")) { // Apache Parquet, file format
			t.Errorf("%s: %v", name, err)
		}
	}
	if code, _, stderr := judder(t, "export", filepath.Join(dir, "w?.jsonl"), "--parquet", "--out", out); code != exitFailed || !strings.Contains(stderr, "nothing is overwritten") {
		t.Errorf("once more: %d, %s", code, stderr)
	}
	w1 := filepath.Join(dir, "w1.jsonl")
	for says, args := range map[string][]string{
		"folder that is there": {dir}, "leave --csv": {w1, "--parquet", "--bom"}, "give both": {w1, "--rate", "10"},
		"rows a second": {w1, "--wide", "--rate", "0"}, "up to 1000": {w1, "--wide", "--rate", "fast"},
	} {
		if code, _, stderr := judder(t, append([]string{"export"}, args...)...); code != exitUsage || !strings.Contains(stderr, says) {
			t.Errorf("export %q: %d, %s", args, code, stderr)
		}
	}
	if _, err := os.Stat("/dev/full"); err == nil && runtime.GOOS == "linux" {
		if code, _, stderr := judder(t, "export", w1, "--out", "/dev/full"); code == exitOK {
			t.Errorf("a file that is there: %s", stderr)
		}
	}
	// One recording into a folder, and to standard output.
	if code, _, stderr := judder(t, "export", w1, "--wide", "--rate", "10", "--out", out); code != exitOK || !strings.Contains(stderr, "w1.csv") {
		t.Errorf("%d, %s", code, stderr)
	}
	if code, stdout, stderr := judder(t, "export", filepath.Join(dir, "w1.jsonl"), "--wide"); code != exitOK || !strings.HasPrefix(stdout, "time_s,RPM [rpm],mark,event\n") {
		t.Errorf("%d, %s, %s", code, stdout, stderr)
	}
}

// An engine that turns twice a minute was misread.
func TestImport_DoubtsEngineSpeed(t *testing.T) {
	dir := inFolder(t, map[string]string{"a.csv": "time_s;RPM\n0;1.700\n1;1.701\n", "b.csv": "time_s;RPM\n0;0\n1;850\n", "c.csv": "time_s;RPM\n0;0\n1;0\n"})
	for name, doubted := range map[string]bool{"a": true, "b": false, "c": false} {
		_, _, stderr := judder(t, "import", filepath.Join(dir, name+".csv"), "--out", filepath.Join(dir, name+".jsonl"))
		if strings.Contains(stderr, "never above 1.701 rpm") != doubted || !strings.Contains(stderr, "2 readings in ") {
			t.Errorf("%s: %s", name, stderr)
		}
	}
}
