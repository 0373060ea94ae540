package cli

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/judder-obd/judder/casefile"
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
	must(t, "case", "ask", dir, "--for", "fluid exchange", "--number", "A-17")
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
	must(t, "case", "add", dir)
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
	if code != exitFailed || !strings.Contains(said, "none.jpg is no photo") || !strings.Contains(said, "2 files could not be added") {
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
