package cli

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// typed runs one command in this process with text on standard input.
func typed(t *testing.T, text string, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	code = run(context.Background(), thisComputer, args, strings.NewReader(text), &out, &errs)
	mustNotSteer(t, args, out.String(), errs.String())
	return code, out.String(), errs.String()
}

// must runs a command that has to succeed.
func must(t *testing.T, args ...string) (stdout, stderr string) {
	t.Helper()
	code, stdout, stderr := typed(t, "", args...)
	if code != exitOK {
		t.Fatalf("judder %q: exit code %d: %s", args, code, stderr)
	}
	return stdout, stderr
}

func caseIn(t *testing.T, dir string) casefile.Case {
	t.Helper()
	f, err := casefile.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	return f.Case
}

func pngFile(t *testing.T, path string, w int) string {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, w, 20))); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// The questions are asked in order, an empty line goes on, and what a flag answers is not asked.
func TestCase_Intake(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "car")
	code, out, said := typed(t, "hums\x1b[2J\n\nwarm\nevery trip\n", "case", "new", dir, "--ask", "--speed", "60-70 km/h", "--car", "estate", "--odometer", "123456")
	if code != exitOK || !strings.Contains(out, "estate") || strings.Contains(said, "At what speed") {
		t.Fatalf("%d %s %s", code, out, said)
	}
	c := caseIn(t, dir)
	if want := (casefile.Complaint{Words: "hums [2J", Speed: "60-70 km/h", Engine: "warm", HowOften: "every trip"}); c.Complaint != want || c.Car.OdometerKM != 123456 {
		t.Errorf("%+v", c)
	}
	if box, unread := c.Complaint.Box(); box.String() != "60-70 km/h warm" || unread != nil {
		t.Errorf("%v %v", box, unread)
	}
	if code, _, said := typed(t, "", "case", "new", dir, "--ask"); code != exitFailed || strings.Contains(said, "What do you feel") {
		t.Errorf("a second case in the folder: %d %s", code, said)
	}
}

// An answer that no drive can be compared with is asked once more, and kept where nothing better is known;
// the page says what was read.
func TestCase_IntakeAsksAgain(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "car")
	code, out, said := typed(t, "60\n60\n60-70\nuphill\n\n\n\n\n\n\n\n\n", "case", "new", dir, "--ask")
	if c := caseIn(t, dir); code != exitOK || c.Complaint.Words != "60" || c.Complaint.Speed != "60-70" || c.Complaint.Load != "uphill" || c.Complaint.Engine != "" {
		t.Errorf("%d %+v", code, c.Complaint)
	}
	if strings.Count(said, "cannot be compared with a drive") != 2 || !strings.Contains(out, "\n  read as    60-70 km/h\n") {
		t.Errorf("%s\n%s", said, out)
	}
	dir = filepath.Join(t.TempDir(), "car")
	if _, _, said := typed(t, "hums\n60", "case", "new", dir, "--ask", "--load", "uphill"); caseIn(t, dir).Complaint.Speed != "60" || strings.Contains(said, `"uphill" cannot`) {
		t.Errorf("the input ends at the second question, and a flag is not asked about: %s", said)
	}
}

// Who asks a payer needs to name the car: its name, its odometer and who works on it are asked last, and
// an odometer that is no number is asked again.
func TestCase_IntakeOfTheCar(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "car")
	code, _, said := typed(t, "hums\n\n\n\n\n\n\npractice estate\nmany\n12 345\nme\n", "case", "new", dir, "--ask")
	if code != exitOK {
		t.Fatalf("%d %s", code, said)
	}
	if c := caseIn(t, dir); c.Car.Name != "practice estate" || c.Car.OdometerKM != 12345 || c.Car.By != "me" {
		t.Errorf("%+v\n%s", c.Car, said)
	}
	if strings.Count(said, "Odometer") != 2 {
		t.Errorf("\"many\" is not asked again: %s", said)
	}
	other := filepath.Join(t.TempDir(), "car")
	if code, _, said := typed(t, "hums\n\n\n\n\n\n\n\n\n\n", "case", "new", other, "--ask"); code != exitOK {
		t.Errorf("nothing known of the car: %d %s", code, said)
	}
}

// A whole case by its commands: what was written down is shown again, and stages follow the repair.
func TestCase_Commands(t *testing.T) {
	tmp := t.TempDir()
	dir, photos := filepath.Join(tmp, "car"), filepath.Join(tmp, "photos")
	if err := os.Mkdir(photos, 0o700); err != nil {
		t.Fatal(err)
	}
	level := pngFile(t, filepath.Join(tmp, "level.png"), 40)
	pngFile(t, filepath.Join(photos, "pan.png"), 30)
	pngFile(t, filepath.Join(photos, "copy of pan.png"), 30)
	must(t, "case", "new", dir, "--says", "hums")
	_, said := must(t, "case", "look", dir, "fluid-level", "--place", "overflow plug", "--note", "low", "--at-c", "75", "--from-c", "50", "--to-c", "60", "--photo", level)
	if burn, outside := strings.Index(said, "hot enough to burn"), strings.Index(said, "OUTSIDE"); burn < 0 || outside < burn {
		t.Errorf("cautions come first, and the window counts: %s", said)
	}
	if _, said := must(t, "case", "add", dir, photos, "--label", "pan"); !strings.Contains(said, "number plates") || !strings.Contains(said, "1 file was in the case already") {
		t.Error(said)
	}
	if _, said := must(t, "case", "ask", dir, "--for", "fluid exchange", "--number", "A-17"); !strings.Contains(said, "written down in "+dir) || !strings.Contains(said, "fluid exchange; authorised as A-17") {
		t.Errorf("what was saved is not said: %s", said)
	}
	must(t, "case", "repair", dir, "fluid", "--parts", "9 l")
	if err := os.WriteFile(filepath.Join(dir, "papers", "bill.txt"), []byte("bill"), 0o600); err == nil {
		t.Error("there is no folder papers yet")
	}
	if err := os.Mkdir(filepath.Join(dir, "papers"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "papers", "bill.txt"), []byte("bill"), 0o600); err != nil {
		t.Fatal(err)
	}
	if out, _ := must(t, "case", "show", dir); !strings.Contains(out, "1 file in the folder is not part of the case yet") {
		t.Error(out)
	}
	must(t, "case", "add", dir, filepath.Join(dir, "papers")) // by its folder, as somebody may name it; added where it lies
	must(t, "case", "add", dir, filepath.Join(dir, "papers", "bill.txt"))
	c := caseIn(t, dir)
	var got []string
	for _, f := range c.Files {
		got = append(got, f.Name+" "+string(f.Stage)+" "+f.Label)
	}
	if want := "photos/level.png before fluid level|photos/copy-of-pan.png before pan|papers/bill.txt after "; strings.Join(got, "|") != want {
		t.Errorf("files %q", got)
	}
	out, _ := must(t, "case", "show", dir)
	for _, want := range []string{"hums", "A-17", "OUTSIDE", "9 l", "before     2 photos", "after      1 paper", "judder drive --case"} {
		if !strings.Contains(strings.Join(strings.Fields(out), " "), strings.Join(strings.Fields(want), " ")) {
			t.Errorf("the page lacks %q:\n%s", want, out)
		}
	}
	if out, _ := must(t, "case", "list", tmp); !strings.Contains(out, "repaired, not tested again") {
		t.Error(out)
	}
	if out, _ := must(t, "case", "list", dir); strings.Count(out, "\n") != 3 {
		t.Error(out)
	}
	if out, _ := must(t, "case", "ladder"); !strings.Contains(out, "1997") {
		t.Error(out)
	}
}

// One bad file stops no other, and the exit code says so.
func TestCase_AddFaults(t *testing.T) {
	tmp := t.TempDir()
	dir := filepath.Join(tmp, "car")
	must(t, "case", "new", dir)
	none := filepath.Join(tmp, "none.jpg")
	if err := os.WriteFile(none, []byte("<b>no photo</b>"), 0o600); err != nil {
		t.Fatal(err)
	}
	code, _, said := typed(t, "", "case", "add", dir, none, pngFile(t, filepath.Join(tmp, "good.png"), 30), filepath.Join(tmp, "missing.txt"))
	if code != exitFailed || !strings.Contains(said, "none.jpg is no photo") || !strings.Contains(said, "2 files were not added") {
		t.Errorf("%d %s", code, said)
	}
	if c := caseIn(t, dir); len(c.Files) != 1 {
		t.Errorf("%+v", c.Files)
	}
	for _, args := range [][]string{
		{"case", "look", dir, "blame"}, {"case", "look", dir, "tyres", "--at-c", "3"}, {"case", "look", dir, "fluid-level", "--from-c", "60", "--to-c", "50"},
		{"case", "repair", dir, "magic"}, {"case", "repair", dir, "fluid", "--date", "2999-01-01"}, {"case", "ask", dir}, {"case", "add", dir, "--before", "--after"},
	} {
		if code, _, said := typed(t, "", args...); code != exitUsage || said == "" {
			t.Errorf("%q: %d %s", args, code, said)
		}
	}
}

// A drive that could show nothing says so on the front page, whatever else is in the case. The real
// drive reads engine speed about once a second, which is too slow (fixtures/PROVENANCE.md).
func TestCase_NothingShown(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "car")
	must(t, "case", "new", dir, "--says", "shakes at cruise", "--speed", "60-70 km/h")
	must(t, "case", "add", dir, realDrive(t, "stopstart-city-1"))
	out, _ := must(t, "report", dir, "--text")
	if words := strings.Join(strings.Fields(out), " "); !strings.Contains(words, "ANSWER The road test could not show shudder") || !strings.Contains(words, "neither confirms nor rules out") {
		t.Error(out)
	}
}

// Marks that were made at the bench come into a case with their recording, under its new name.
func TestCase_Marks(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "car")
	must(t, "case", "new", dir)
	recording := realDrive(t, "automatic-minute")
	if err := os.WriteFile(recording+session.BesideEnd, []byte(`{"version": 1, "marks": [{"at_s": 12.5}, {"at_s": 20, "note": "bridge"}]}`), 0o600); err != nil {
		t.Fatal(err)
	}
	must(t, "case", "add", dir, recording)
	c := caseIn(t, dir)
	if len(c.Files) != 2 || c.Files[1].Kind != casefile.Marks || c.Files[1].Name != c.Files[0].Name+session.BesideEnd {
		t.Fatalf("%+v", c.Files)
	}
	r, err := session.Review(filepath.Join(dir, filepath.FromSlash(c.Files[0].Name)))
	if err != nil || len(r.Marks) != 2 || r.Marks[1].Note != "bridge" {
		t.Errorf("%+v %v", r.Marks, err)
	}
	if _, said := must(t, "case", "add", dir); !strings.Contains(said, "nothing new") {
		t.Error(said)
	}
}

// A check that was made inside a drive joins the case with it, and so does a recording that was made
// elsewhere.
func TestCase_TakesWhatADriveLeft(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "car")
	must(t, "case", "new", dir)
	e := &env{started: time.Date(2026, 11, 29, 9, 0, 0, 0, time.UTC), err: prose.NewWriter(io.Discard)}
	j := &joined{e: e, dir: dir}
	recording := realDrive(t, "automatic-minute")
	text, err := os.ReadFile(recording)
	if err != nil {
		t.Fatal(err)
	}
	inside, err := j.place("drives", "judder-", ".jsonl")
	if err != nil {
		t.Fatal(err)
	}
	stem := strings.TrimSuffix(inside, ".jsonl")
	for path, data := range map[string][]byte{inside: text, stem + "-check-1.json": []byte(`{"format":"judder check","version":1,"time":"2026-11-29T09:00:00Z","ecus":[]}`), stem + "0-check-1.json": []byte("{}")} {
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := j.take(inside, filepath.Join(t.TempDir(), "never written.jsonl")); err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, f := range caseIn(t, dir).Files {
		got = append(got, string(f.Kind)+" "+f.Name)
	}
	if want := "check drives/judder-2026-11-29-090000-check-1.json,drive drives/judder-2026-11-29-090000.jsonl"; strings.Join(got, ",") != want {
		t.Errorf("%q, want %s", got, want)
	}
}

// A file that is named like a recording and is none is added as a paper, and that is said.
func TestCaseAdd_NamedLikeARecording(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "car")
	must(t, "case", "new", dir, "--no-ask")
	whole, err := os.ReadFile(shaken(t, "bridge"))
	if err != nil {
		t.Fatal(err)
	}
	in := inFolder(t, map[string]string{"bin.jsonl": "\x00\x8a\xffno\n", "torn.jsonl": "{\"k\":" + string(whole), "bill.txt": "bill", "drive.jsonl": string(whole)})
	_, said := must(t, "case", "add", dir, in)
	for _, want := range []string{
		"added papers/bin.jsonl (paper, before the work): it is no judder recording, so it was added as a paper\n",
		"added papers/torn.jsonl (paper, before the work): its first line is damaged, so it was added as a paper\n",
		"added papers/bill.txt (paper, before the work)\n", "added drives/drive.jsonl (drive, before the work)\n",
	} {
		if !strings.Contains(said, want) {
			t.Errorf("no %q in %s", want, said)
		}
	}
}
