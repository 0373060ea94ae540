package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/chance"
	"github.com/judder-obd/judder/session/recording"
)

// Two recordings are compared as drives; a drive and something else is an error that says so.
func TestCompare_Drives(t *testing.T) {
	path := shaken(t, "bridge")
	other := laterDrive(t, path)
	code, stdout, stderr := judder(t, "compare", path, other, "--complaint", "60-75 km/h light")
	if code != exitOK || !strings.HasPrefix(stdout, "STILL THERE") || !strings.Contains(stdout, "1 of 1 pass before, 1 of 1 after") {
		t.Errorf("%d %s%s", code, stdout, stderr)
	}
	code, stdout, stderr = judder(t, "compare", "--json", path, other)
	var got struct {
		Version int
		Finding string
		Passes  map[string]float64
		Cells   []struct{ Conditions map[string]any }
	}
	if err := json.Unmarshal([]byte(stdout), &got); err != nil || code != exitOK {
		t.Fatalf("%d %v %s", code, err, stderr)
	}
	if got.Version != 1 || got.Finding != "still there" || got.Passes["passes_after"] != 1 || len(got.Cells) != 1 || got.Cells[0].Conditions["from_kmh"] != 70. {
		t.Errorf("%s", stdout)
	}
}

// What cannot be compared is an error that says what is wrong with which file.
func TestCompare_Refuses(t *testing.T) {
	path := shaken(t, "bridge")
	dir := inFolder(t, map[string]string{"empty": "", "check.json": "{}", "later.json": "{}", "t.csv": "time_s,RPM\n"})
	in := func(name string) string { return filepath.Join(dir, name) }
	link := in("link.jsonl")
	if err := os.Symlink(path, link); err != nil {
		t.Skip(err)
	}
	for _, c := range []struct {
		before, after, says string
		code                int
	}{
		{path, in("absent"), "cannot open " + in("absent") + ": no such file or directory; check the name", exitFailed},
		{in("absent"), path, "cannot open " + in("absent") + ": no such file or directory; check the name", exitFailed},
		{in("check.json"), in("absent"), "cannot open " + in("absent"), exitFailed},
		{path, in("empty"), "there is nothing in " + in("empty") + ": give two drives, or two code checks", exitFailed},
		{in("empty"), in("empty"), "there is nothing in " + in("empty"), exitFailed},
		{dir, path, "this is a folder; name the file in it", exitFailed},
		{path, in("t.csv"), path + " is a drive and " + in("t.csv") + " is not", exitFailed},
		{in("check.json"), path, path + " is a drive and " + in("check.json") + " is not", exitFailed},
		{path, path, "both are the same recording: name the drive after the repair second", exitUsage},
		{path, link, "both are the same recording", exitUsage},
		{in("check.json"), in("check.json"), "both are the same code check: name the later one second", exitUsage},
	} {
		code, stdout, stderr := judder(t, "compare", c.before, c.after)
		if code != c.code || stdout != "" || !strings.Contains(stderr, c.says) {
			t.Errorf("%s and %s: %d %s%s; want %q", c.before, c.after, code, stdout, stderr, c.says)
		}
	}
	if code, _, stderr := judder(t, "compare", in("check.json"), in("later.json"), "--complaint", "light"); code != exitUsage {
		t.Errorf("%d %s", code, stderr)
	}
}

// laterDrive is a drive with the readings of another, a day later, but for one of engine speed.
func laterDrive(t *testing.T, path string) string {
	t.Helper()
	r, err := recording.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = r.Close() }() // read only
	header := r.Header()
	header.Start = header.Start.AddDate(0, 0, 1)
	later := filepath.Join(t.TempDir(), "later.jsonl")
	w, err := recording.Create(later, header)
	if err != nil {
		t.Fatal(err)
	}
	changed := false
	for r.Next() {
		e := r.Entry()
		if e.Kind == recording.KindReading && e.Reading.Signal == pids.RPM && !changed {
			e.Reading.Value, changed = e.Reading.Value+1, true
		}
		if err := w.Append(e); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close("end"); err != nil {
		t.Fatal(err)
	}
	return later
}

// One drive given twice, two in the wrong order and one without a date are said in a line of the page.
func TestCompare_Doubts(t *testing.T) {
	path := shaken(t, "bridge")
	later, dir := laterDrive(t, path), t.TempDir()
	back := func(from, name string) string { // exported, and imported again
		table, to := filepath.Join(dir, name+".csv"), filepath.Join(dir, name+".jsonl")
		must(t, "export", from, "--out", table)
		must(t, "import", table, "--out", to)
		return to
	}
	again, laterAgain, copied := back(path, "again"), back(later, "later-again"), filepath.Join(dir, "copied.jsonl")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(copied, text, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ before, after, says, doubt string }{
		{path, later, "", ""},
		{later, path, "ORDER the second drive is the earlier one: give the drive before the repair first", "order reversed"},
		{path, copied, "SAME DRIVE both recordings hold it: give the drive after the repair second", "same drive"},
		{path, again, "SAME DRIVE", "same drive"},
		{again, path, "SAME DRIVE", "same drive"},
		{path, laterAgain, "ORDER the second drive has no date: make sure that the first is from before the repair", "no date"},
		{laterAgain, path, "ORDER the first drive has no date", "no date"},
		{again, laterAgain, "ORDER neither drive has a date", "no date"},
	} {
		page, _ := must(t, "compare", c.before, c.after)
		flat := unwrapped(page)
		if !strings.Contains(flat, c.says) || c.says == "" && (strings.Contains(flat, "ORDER") || strings.Contains(flat, "SAME DRIVE")) {
			t.Errorf("%s, %s: no %q in %s", c.before, c.after, c.says, page)
		}
		out, _ := must(t, "compare", "--json", c.before, c.after)
		var got struct{ Doubt string }
		if err := json.Unmarshal([]byte(out), &got); err != nil || got.Doubt != c.doubt {
			t.Errorf("%s, %s: %q %v, want %q", c.before, c.after, got.Doubt, err, c.doubt)
		}
	}
}

// Readings of an engine that is off, and too few, show nothing.
func TestAlike(t *testing.T) {
	off, run := make([]float64, 100), make([]float64, 100)
	for i := range run {
		run[i] = 800 + float64(i%7)
	}
	if alike(off, off) || alike(run[:fewestAlike-1], run) || !alike(run[:fewestAlike], run) || alike(run, run[1:]) || alike(nil, nil) {
		t.Error("readings of two drives are taken for those of one, or the other way round")
	}
}

// Every finding has a word; what is needed and how likely chance is stand where they are asked for.
func TestPairText(t *testing.T) {
	d := driveOf{"a/before.jsonl", &session.Result{}}
	for finding := session.NothingToCompare; finding <= session.Reversed; finding++ {
		p := session.Pair{Finding: finding, Table: chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, Chance: 6. / 2002, Possible: true, More: 3, Where: "at 60 to 70 km/h"}
		text := unwrapped(pairText(&d, &d, "", &p))
		if w := pairWords[finding]; w.word == "" || !strings.HasPrefix(text, w.word+": "+w.means) || !strings.Contains(text, "5 of 6 passes before, 0 of 8 after") {
			t.Errorf("%v: %s", finding, text)
		}
		if has := strings.Contains(text, "3 more passes without shudder after, at 60 to 70 km/h"); has != (finding == session.NotShown) {
			t.Errorf("%v: %s", finding, text)
		}
		if has := strings.Contains(text, "chance 0.3 %"); has != (finding == session.NotShown || finding == session.Gone || finding == session.StillFelt) {
			t.Errorf("%v: %s", finding, text)
		}
	}
}

// Why passes are not alike, and how many do not count for it, stands on the page; not where shudder was seen.
func TestPairText_NotAlike(t *testing.T) {
	d := driveOf{"a/before.jsonl", &session.Result{}}
	for finding := session.NothingToCompare; finding <= session.Reversed; finding++ {
		p := session.Pair{Finding: finding, Unlike: []string{"another gear"}, Unknown: []string{"how warm"}, Apart: 3}
		text := unwrapped(pairText(&d, &d, "", &p))
		for _, want := range []string{"not alike another gear", "not known how warm", "not counted 3 passes after, with none like it before"} {
			if strings.Contains(text, want) == (finding == session.StillThere) {
				t.Errorf("%v, %q: %s", finding, want, text)
			}
		}
	}
}

// A drive of which nothing was usable says why beside the advice to drive again.
func TestPairText_Unusable(t *testing.T) {
	usable := driveOf{"a/before.jsonl", &session.Result{Verdict: detect.Verdict{Testable: time.Minute, Reason: "fine"}}}
	none := driveOf{"a/after.jsonl", &session.Result{Verdict: detect.Verdict{Reason: "road speed was not read"}}}
	text := unwrapped(pairText(&usable, &none, "", &session.Pair{}))
	if !strings.Contains(text, "after.jsonl: road speed was not read") || strings.Contains(text, "fine") {
		t.Error(text)
	}
}
