package cli

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/cli/remember"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// Drives and checks join a case. Two checks of it show that they are of one car, without the number
// and without a word of it in any file; a check of another car with the same secret shows that too.
func TestCase_Join(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sim, engine := carWithCodes()
		dir := filepath.Join(t.TempDir(), "car")
		must(t, "case", "new", dir, "--speed", "60-70 km/h")
		onCar := func(args ...string) string {
			code, _, said := judderOn(t, sim.Pipe, "", append(args, "--case", dir, "--port", inMemory)...)
			if code != exitOK {
				t.Fatalf("%v: %d %s", args, code, said)
			}
			return said
		}
		onCar("check")
		must(t, "case", "repair", dir, "fluid")
		time.Sleep(time.Minute) // of the bubble: files are named by time
		onCar("check")
		onCar("drive", "--headless", "--for", "2s")
		vin := engine.VIN
		engine.VIN = "0TEST00A0K0009999"
		time.Sleep(time.Minute)
		onCar("check")
		c := caseIn(t, dir)
		var kinds []string
		var checks []string
		for _, f := range c.Files {
			kinds = append(kinds, string(f.Kind)+" "+string(f.Stage))
			if f.Kind == casefile.CodeCheck {
				checks = append(checks, filepath.Join(dir, filepath.FromSlash(f.Name)))
			}
			text, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(f.Name)))
			if err != nil || strings.Contains(string(text), vin[9:]) || hexOf(vin[11:], string(text)) {
				t.Errorf("%s: %v, or it holds the number", f.Name, err)
			}
		}
		if got, want := strings.Join(kinds, ","), "replies before,check before,replies after,check after,drive after,replies after,check after"; got != want {
			t.Errorf("files %s, want %s", got, want)
		}
		for second, want := range map[int]string{1: "same car  yes", 2: "same car  NO"} {
			if _, out, _ := typed(t, "", "compare", checks[0], checks[second]); !strings.Contains(out, want) {
				t.Errorf("check 0 and %d: %s", second, out)
			}
		}
		f, err := casefile.Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		defer func() { _ = f.Close() }()
		if r, err := session.Review(f.Path(c.Files[4].Name)); err != nil || r.Complaint.String() != "60-70 km/h" {
			t.Errorf("the complaint of the case goes into the recording: %q, %v", r.Complaint, err)
		}
		for _, h := range f.Gather().Hashes {
			if h.Err != nil || h.Changed() {
				t.Errorf("%s: %v, changed %v", h.File.Name, h.Err, h.Changed())
			}
		}
	})
}

// A clearing joins a case as well: the checks before and after it, and its raw replies.
func TestCase_JoinClear(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sim, _ := carWithCodes()
		dir := filepath.Join(t.TempDir(), "car")
		must(t, "case", "new", dir)
		if code, _, said := judderOn(t, sim.Pipe, "CLEAR\n", "clear", "--case", dir, "--port", inMemory); code != exitOK {
			t.Fatalf("%d %s", code, said)
		}
		var kinds []string
		for _, f := range caseIn(t, dir).Files {
			kinds = append(kinds, string(f.Kind))
		}
		if got := strings.Join(kinds, ","); got != "replies,check,check" {
			t.Errorf("files %s", got)
		}
	})
}

// A case is remembered until midnight, and --no-case leaves it alone.
func TestCase_Remembered(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "car")
	must(t, "case", "new", dir, "--speed", "60-70 km/h", "--load", "light")
	var kept remember.Settings
	var said bytes.Buffer
	e := &env{started: time.Date(2026, 11, 29, 9, 0, 0, 0, time.Local), err: prose.NewWriter(&said), computer: computer{
		loadRemembered:   func() (remember.Settings, error) { return kept, nil },
		changeRemembered: func(change func(*remember.Settings)) error { change(&kept); return nil },
	}}
	for _, c := range []struct {
		what  string
		flags caseFlags
		at    time.Time
		want  bool
	}{
		{"nothing remembered", caseFlags{}, e.started, false},
		{"named", caseFlags{Case: dir}, e.started, true},
		{"remembered", caseFlags{}, e.started.Add(14 * time.Hour), true},
		{"left alone", caseFlags{NoCase: true}, e.started, false},
		{"the next day", caseFlags{}, e.started.Add(16 * time.Hour), false},
	} {
		e.started = c.at
		j, err := c.flags.join(e)
		if err != nil || (j != nil) != c.want || j != nil && (j.complaint.String() != "60-70 km/h light" || j.digest == nil) {
			t.Errorf("%s: %+v %v", c.what, j, err)
		}
		e.started = time.Date(2026, 11, 29, 9, 0, 0, 0, time.Local)
	}
	if !filepath.IsAbs(kept.Case) || kept.CaseDay != "2026-11-29" {
		t.Errorf("%+v", kept)
	}
	kept.Case = filepath.Join(dir, "gone")
	if _, err := (&caseFlags{}).join(e); err == nil || !strings.Contains(err.Error(), "--no-case") {
		t.Errorf("a case that is not there any more: %v", err)
	}
	if _, err := (&caseFlags{Case: dir, NoCase: true}).join(e); err == nil {
		t.Error("--case and --no-case together")
	}
}

// A check is kept without being asked to, and compare takes what it left. What a kept check is shows
// in it; one of a newer version and one with a key that is none are refused: a code below a misspelt
// key would pass for gone.
func TestCheck_Kept(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sim, _ := carWithCodes()
		dir := t.TempDir()
		raw := filepath.Join(dir, "raw.jsonl")
		if code, _, said := judderOn(t, sim.Pipe, "", "check", "--port", inMemory, "--raw", raw); code != exitOK || !strings.Contains(said, "raw.json;") {
			t.Fatalf("%d %s", code, said)
		}
		kept := filepath.Join(dir, "raw.json")
		text, err := os.ReadFile(kept)
		if err != nil {
			t.Fatal(err)
		}
		var head struct {
			Format, Program string
			Version         int
		}
		if err := json.Unmarshal(text, &head); err != nil || head.Format != "judder check" || head.Version != 1 || !strings.HasPrefix(head.Program, "judder ") {
			t.Errorf("%+v %v", head, err)
		}
		twin := filepath.Join(dir, "twin.json")
		if err := os.WriteFile(twin, text, 0o600); err != nil {
			t.Fatal(err)
		}
		if code, out, said := typed(t, "", "compare", kept, twin); code != exitOK || !strings.Contains(out, "unchanged  P0741") {
			t.Errorf("%d %s%s", code, out, said)
		}
		for name, change := range map[string][2]string{
			"no key \"codse\"": {`"codes"`, `"codse"`}, "no key \"cdoe\"": {`"code"`, `"cdoe"`}, "newer judder": {`"version": 1`, `"version": 2`},
			"no kept check": {`"judder check"`, `"another check"`}, "cut off": {"\n}\n", ""},
		} {
			bad := filepath.Join(dir, "bad.json")
			if err := os.WriteFile(bad, bytes.Replace(text, []byte(change[0]), []byte(change[1]), 1), 0o600); err != nil {
				t.Fatal(err)
			}
			if code, out, said := typed(t, "", "compare", kept, bad); code != exitFailed || !strings.Contains(said, name) || strings.Contains(out, "gone") {
				t.Errorf("%s: %d %s%s", name, code, out, said)
			}
		}
	})
	if got := besideRaw("a/b.jsonl") + " " + besideRaw("a.json"); got != "a/b.json a-result.json" {
		t.Error(got)
	}
	if r, err := check.Load("../check/testdata/first-version.json"); err != nil || r.Version != 0 {
		t.Errorf("a file of the first version: %v", err)
	}
}
