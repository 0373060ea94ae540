package cli

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/fixtures"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// judder runs one command in this process.
func judder(t *testing.T, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	code = Main(args, &out, &errs)
	mustNotSteer(t, args, out.String(), errs.String())
	return code, out.String(), errs.String()
}

// mustNotSteer holds what a command printed: no character that steers a terminal.
func mustNotSteer(t *testing.T, args []string, texts ...string) {
	t.Helper()
	for _, text := range texts {
		if i := strings.IndexFunc(text, func(r rune) bool { return r != '\n' && prose.Steers(r) }); i >= 0 {
			t.Errorf("judder %q: control character at %d of %q", args, i, text)
		}
	}
}

// realDrive puts a real drive into a folder of this test and imports it.
func realDrive(t *testing.T, name string) (recording string) {
	t.Helper()
	text, err := fixtures.Files.ReadFile("drives/" + name + ".csv")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	source := filepath.Join(dir, name+".csv")
	if err := os.WriteFile(source, text, 0o600); err != nil {
		t.Fatal(err)
	}
	recording = filepath.Join(dir, name+".jsonl")
	if code, _, stderr := judder(t, "import", source, "--out", recording); code != exitOK {
		t.Fatalf("import: %d: %s", code, stderr)
	}
	return recording
}

func reviewJSON(t *testing.T, file string) report {
	t.Helper()
	code, stdout, stderr := judder(t, "review", "--json", file)
	if code != exitOK {
		t.Fatalf("review: %d: %s", code, stderr)
	}
	var r report
	if err := json.Unmarshal([]byte(stdout), &r); err != nil {
		t.Fatalf("%v in %q", err, stdout)
	}
	return r
}

// The counts of automatic stops are those of the data set's own files (KIT, DOI
// 10.35097/1130; comma2k19), as published with them; none of these cars is known to shudder. The
// data set's engine speed comes every 0.9 s.
func TestReview_RealDrives(t *testing.T) {
	for name, want := range map[string]struct {
		automatic int
		tooSlow   bool
	}{
		"stopstart-city-1": {9, true}, "stopstart-city-2": {10, true}, "stopstart-city-3": {0, true},
		"stopstart-road": {0, true}, "automatic-minute": {0, false},
	} {
		r := reviewJSON(t, realDrive(t, name))
		if len(r.Shudder) != 0 || r.Verdict == "shudder" {
			t.Errorf("%s: shudder found: %+v", name, r.Shudder)
		}
		automatic := 0
		for _, s := range r.EngineStops {
			if s.Kind == "automatic" {
				automatic++
			}
		}
		if automatic != want.automatic {
			t.Errorf("%s: %d automatic stops, want %d", name, automatic, want.automatic)
		}
		if r.Verdict != "cannot tell" || strings.Contains(r.Reason, "once a second") != want.tooSlow {
			t.Errorf("%s: %s: %s", name, r.Verdict, r.Reason)
		}
		sum := 0.0
		for _, m := range r.Masks {
			sum += m.Seconds
		}
		if d := sum - r.Duration; d > 0.1 || d < -0.1 {
			t.Errorf("%s: reasons add up to %.1f s of %.1f", name, sum, r.Duration)
		}
	}
}

// What is imported comes out again: every reading once, with the digits that it had.
func TestExport_GivesBackTheImport(t *testing.T) {
	for _, name := range []string{"stopstart-road", "automatic-minute"} {
		givesBack(t, name)
	}
}

func givesBack(t *testing.T, name string) {
	t.Helper()
	_, stdout, _ := judder(t, "export", realDrive(t, name), "--csv")
	rows, err := csv.NewReader(strings.NewReader(stdout)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	text, err := fs.ReadFile(fixtures.Files, "drives/"+name+".csv")
	if err != nil {
		t.Fatal(err)
	}
	given, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != len(given) {
		t.Fatalf("%d rows, want %d", len(rows), len(given))
	}
	for i := 1; i < len(rows); i++ { // two readings may share a time; the file's order stays
		_, unit, _ := pids.About(pids.Signal(given[i][1]))
		if got := rows[i]; got[2] != given[i][1] || number(t, got[0]) != number(t, given[i][0]) ||
			number(t, got[3]) != number(t, given[i][2]) || got[4] != unit {
			t.Fatalf("row %d is %q, given %q (%s)", i, got, given[i], unit)
		}
	}
	if got := strings.Join(rows[0], ","); got != "time_s,ecu,signal,value,unit" {
		t.Errorf("head %q", got)
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func TestBadInput_SaysWhatWhereAndWhatNext(t *testing.T) {
	dir := t.TempDir()
	file := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	out, absent, opened, shudder := filepath.Join(dir, "out.jsonl"), filepath.Join(dir, "absent"), filepath.Join(dir, "case"), shaken(t, "bridge")
	must(t, "case", "new", opened, "--no-ask")
	for _, c := range []struct {
		args []string
		code int
		says []string
	}{
		{[]string{"bogus"}, exitUsage, []string{"bogus", "--help"}},
		{[]string{"drive"}, exitUsage, []string{"--port"}},
		{[]string{"drive", "--port", "x", "--for", "-3s"}, exitUsage, []string{"--for"}},
		{[]string{"drive", "--port", filepath.Join(dir, "no-port"), "--headless", "--out", out}, exitFailed, []string{"no-port", "no such port"}},
		{[]string{"drive", "--port", file("not-a-port", ""), "--headless", "--out", out}, exitFailed, []string{"not-a-port"}},
		{[]string{"drive", "--port", "tcp://127.0.0.1:1", "--headless", "--out", out}, exitFailed, []string{"refused", "check the port"}},
		{[]string{"drive", "--port", "tcp://nowhere", "--headless", "--out", out}, exitFailed, []string{"tcp://host:port"}},
		{[]string{"drive", "--port", "tcp://127.0.0.1:1", "--headless", "--out", file("there.jsonl", "mine")}, exitFailed, []string{"there.jsonl", "never overwritten"}},
		{[]string{"drive", "--port", "tcp://127.0.0.1:1", "--profile", file("bad.toml", "name = \"x\"\nnmae = 3\n")}, exitFailed, []string{"bad.toml", "2", "^", "nmae"}},
		{[]string{"drive", "--port", "tcp://127.0.0.1:1", "--profile", filepath.Join(dir, "absent.toml")}, exitFailed, []string{"absent.toml", "no such file", "check the file's name", "--profile"}},
		{[]string{"check", "--port", "tcp://127.0.0.1:1", "--profile", dir}, exitFailed, []string{dir, "check the file's name", "--profile"}},
		{[]string{"review", filepath.Join(dir, "absent")}, exitFailed, []string{"absent", "check the name"}},
		{[]string{"review", dir}, exitFailed, []string{dir}},
		{[]string{"review", file("empty", "")}, exitFailed, []string{"empty", "record again"}},
		{[]string{"review", file("foreign", "{\"a\":1}\n\x1b[31mred\n")}, exitFailed, []string{"foreign", "not a judder recording"}},
		{[]string{"review", file("newer", `{"k":"header","format":"judder recording","version":2,"crc":"00000000"}`+"\n")}, exitFailed, []string{"newer version"}},
		{[]string{"replay", file("foreign2", "hello\n")}, exitFailed, []string{"foreign2", "not a judder recording"}},
		{[]string{"import", dir, "--out", out}, exitFailed, []string{"cannot open " + dir + ": this is a folder; name the file in it"}},
		{[]string{"import", file("e.csv", "time_s,RPM\n0,800\n1,801\n"), "--out", dir}, exitFailed, []string{"cannot create " + dir + ": this is a folder; name the file in it"}},
		{[]string{"import", absent, "--out", out}, exitFailed, []string{"cannot open " + absent, "check the name"}},
		{[]string{"picture", shudder, "--out", filepath.Join(absent, "x.svg")}, exitFailed, []string{"cannot create " + absent, "check the name and that the folder exists"}},
		{[]string{"export", shudder, "--out", filepath.Join(absent, "x.csv")}, exitFailed, []string{"cannot create " + absent, "check the name and that the folder exists"}},
		{[]string{"picture", shudder, "--out", dir}, exitFailed, []string{"cannot create " + dir + ": this is a folder; name the file in it"}},
		{[]string{"case", "add", opened, absent}, exitFailed, []string{"not added: cannot open " + absent, "check the name and that the folder exists"}},
		{[]string{"case", "look", opened, "tyres", "--photo", absent}, exitFailed, []string{"cannot open " + absent, "check the name and that the folder exists"}},
		{[]string{"import", file("a.csv", "time,signal,value\n"), "--out", out}, exitFailed, []string{"a.csv", "time_s"}},
		{[]string{"import", file("b.csv", "time_s,signal,value\n1,RPM,8x0\n"), "--out", out}, exitFailed, []string{"line 2", "value", "8x0"}},
		{[]string{"import", file("c.csv", "time_s,signal,value,unit\n1,VSS,30,volt\n"), "--out", out}, exitFailed, []string{"line 2", "volt", "km/h"}},
		{[]string{"import", file("d.csv", "time_s,signal,value\n1,\x1b[2J\u0085,30\n"), "--out", out}, exitFailed, []string{"line 2"}},
	} {
		code, _, stderr := judder(t, c.args...)
		if code != c.code {
			t.Errorf("%q: exit code %d, want %d: %s", c.args, code, c.code, stderr)
		}
		for _, s := range c.says {
			if !strings.Contains(stderr, s) {
				t.Errorf("%q does not say %q: %s", c.args, s, stderr)
			}
		}
		if _, err := os.Stat(out); err == nil {
			t.Fatalf("%q left a recording behind", c.args)
		}
	}
	if text, err := os.ReadFile(filepath.Join(dir, "there.jsonl")); err != nil || string(text) != "mine" {
		t.Errorf("a file that was there is now %q, %v", text, err)
	}
}

// A recording with a damaged line, a torn tail and hostile text is opened all the same.
func TestReview_Damage(t *testing.T) {
	path := realDrive(t, "stopstart-road")
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := bytes.SplitAfter(whole, []byte("\n"))
	lines[50] = bytes.Replace(lines[50], []byte(`"t":`), []byte("\"t\":\x1b[2J\u009b"), 1)
	damaged := bytes.Join(lines[:1000], nil)
	damaged = damaged[:len(damaged)-7]
	bad := filepath.Join(t.TempDir(), "damaged.jsonl")
	if err := os.WriteFile(bad, damaged, 0o600); err != nil {
		t.Fatal(err)
	}
	r := reviewJSON(t, bad)
	for _, want := range []string{"no end after", "torn", "line 51"} {
		if !strings.Contains(r.Damage, want) {
			t.Errorf("damage does not say %q: %s", want, r.Damage)
		}
	}
	if code, stdout, stderr := judder(t, "export", bad, "--csv"); code != exitOK || strings.Count(stdout, "\n") != 998 || !strings.Contains(stderr, "still being recorded") {
		t.Errorf("export: %d, %d lines, %s", code, strings.Count(stdout, "\n"), stderr)
	}
	if code, _, stderr := judder(t, "review", bad, filepath.Join(filepath.Dir(bad), "absent")); code != exitFailed || !strings.Contains(stderr, "1 of 2") {
		t.Errorf("one good and one absent file: %d, %s", code, stderr)
	}
}

func TestHelp(t *testing.T) {
	_, stdout, _ := judder(t, "--help")
	for _, want := range []string{"demo", "drive", "replay", "import", "review", "export", "ports", "second person", "Exit codes"} {
		if !strings.Contains(stdout, want) {
			t.Errorf("--help does not say %q", want)
		}
	}
}

// aDrive is a drive with one of each.
func aDrive() session.Result {
	return session.Result{
		Duration: 90 * time.Minute,
		Verdict:  detect.Verdict{Finding: detect.Shudder, Reason: "1 pass", Testable: time.Minute, SmallestRPM: 24.2},
		Events: []detect.Event{{Start: 65 * time.Second, End: 69500 * time.Millisecond, SwingRPM: 71.6, Hz: []float64{2.34, 20.1},
			SpeedKMH: 81.4, CoolantC: 88, LoadPct: 30, ThrottlePct: math.NaN(), CannotTell: "a misfire that comes only under load, or a rough patch of road"}},
		Stops:        []detect.Stop{{End: 2 * time.Second, Kind: detect.StopOff, FromStart: true}, {Start: 10 * time.Second, End: 30 * time.Second, Kind: detect.StopAutomatic}},
		Observations: []detect.Observation{{Start: 3 * time.Second, End: 5 * time.Second, Kind: detect.GearHunting}},
		Marks:        []session.Mark{{At: 67 * time.Second, Strength: 2, Lasted: 1500 * time.Millisecond, Outcome: session.Seen}, {At: time.Second, Note: "on a hill\n  0:00:09  shudder"}},
		Losses:       []session.Loss{{Start: 20 * time.Minute, End: 20*time.Minute + 32500*time.Millisecond, Reason: session.LinkReason{Cause: obd.CauseUnplugged, Text: "the adapter is gone from X"}}},
		Spans:        []detect.Span{{End: time.Minute}, {Start: time.Minute, End: 90*time.Minute - 10*time.Second, Reason: detect.FloorNotLearnt}, {Start: 90*time.Minute - 10*time.Second, End: 90 * time.Minute, Reason: detect.LinkGap}},
		Checks:       []session.CodeCheck{{Start: 90*time.Minute - 9*time.Second, End: 90 * time.Minute}},
		Coverage:     []detect.Band{{FromKMH: 80, ToKMH: 90, Judged: time.Minute, SmallestRPM: 24.2}},
		Damage:       "ended abruptly",
	}
}

// The text of a review, read by a person: in order of time, each thing on its line.
func TestPrintText(t *testing.T) {
	r := aDrive()
	var b strings.Builder
	if err := printText(&b, "", &r, prose.PageWidth, true); err != nil {
		t.Fatal(err)
	}
	const want = `this drive: SHUDDER
  1 pass
  driven     1:30:00, usable 1:00 min
  seen       once in 1:00 min usable
  felt       once: 1 seen

 no    time km/h rpm   Hz lasted thr % load %  °C gear   felt  ended by
  1 0:01:05   81  72 2.3?  4.5 s     -     30  88    - +2.0 s  itself
`
	if !strings.HasPrefix(b.String(), want) {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
	const rest = `
  what happened:
  0:00:00  engine off since the beginning, 2.0 s
  0:00:01  note: on a hill 0:00:09 shudder
  0:00:03  gear hunting, 2.0 s; not counted as shudder
  0:00:10  engine stop (automatic), 20 s
  0:01:05  shudder 1, 72 rpm peak to peak, 2.3 Hz or 20.1 Hz, 4.5 s at 81 km/h
  0:01:07  felt and seen, strength 2 of 3, for 1.5 s
  0:20:00  link lost, 32 s: the adapter is gone
  1:29:51  code check, 9.0 s

  how the time was spent:
      1:00 min  usable
        1:28 h  settling in
          10 s  code check

  usable time by road speed:
      1:00 min  80 to 90 km/h, smallest visible swing 25 rpm
`
	if !strings.HasSuffix(b.String(), rest) || !strings.Contains(b.String(), "\n  file       ended abruptly\n") {
		t.Errorf("got\n%s\nwant at the end\n%s", b.String(), rest)
	}
	if got := reportOf("", &r).LinkLosses; len(got) != 1 || got[0] != (lossRow{1200, 1232.5, "the adapter is gone", "unplugged", "the adapter is gone from X"}) {
		t.Errorf("losses for machines: %+v", got)
	}
	b.Reset()
	if err := printText(&b, "", &r, 50, true); err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(b.String(), "\n") {
		if len([]rune(line)) > 50 {
			t.Errorf("%q is wider than 50", line)
		}
	}
	long := strings.Repeat("a long path/", 12) + "drive.jsonl"
	b.Reset()
	if err := printText(&b, long, &r, prose.PageWidth, true); err != nil || !strings.HasPrefix(b.String(), long+": SHUDDER\n") {
		t.Errorf("%v: a long path is not whole: %s", err, b.String())
	}
}

// The JSON encoder leaves U+007F to U+009F as they are; a terminal obeys some of them.
func TestWriteJSON_EscapesAllControls(t *testing.T) {
	var b bytes.Buffer
	const text = "a\x1b[2J\u007f\u009b31m\nb"
	if err := writeJSON(&b, map[string]string{"text": text}); err != nil {
		t.Fatal(err)
	}
	if strings.ContainsFunc(strings.TrimSuffix(b.String(), "\n"), unicode.IsControl) {
		t.Errorf("%q", b.String())
	}
	var back map[string]string
	if err := json.Unmarshal(b.Bytes(), &back); err != nil || back["text"] != text {
		t.Errorf("came back as %q, %v", back["text"], err)
	}
}
