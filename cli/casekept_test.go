package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/prose"
)

// stuck makes a case that can be read and not written: what keeps others from writing cannot be removed.
func stuck(t *testing.T, dir string) {
	t.Helper()
	turn := filepath.Join(dir, ".saving")
	if err := os.MkdirAll(filepath.Join(turn, "full"), 0o700); err != nil {
		t.Fatal(err)
	}
	long := time.Now().Add(-time.Hour)
	if err := os.Chtimes(turn, long, long); err != nil {
		t.Fatal(err)
	}
}

// Nothing is said to be written down, added or part of a case before it is: the write may fail.
func TestCase_SaysAfterTheWrite(t *testing.T) {
	tmp := t.TempDir()
	dir := filepath.Join(tmp, "car")
	must(t, "case", "new", dir, "--no-ask")
	photo, bill := pngFile(t, filepath.Join(tmp, "pan.png"), 30), filepath.Join(tmp, "bill.txt")
	if err := os.WriteFile(bill, []byte("bill"), 0o600); err != nil {
		t.Fatal(err)
	}
	stuck(t, dir)
	for _, args := range [][]string{
		{"case", "ask", dir, "--for", "fluid"}, {"case", "repair", dir, "fluid"}, {"case", "look", dir, "tyres", "--photo", photo}, {"case", "add", dir, bill},
	} {
		code, stdout, said := typed(t, "", args...)
		if code != exitFailed || stdout != "" || strings.Count(said, "\n") != 1 || !strings.Contains(said, "judder: ") {
			t.Errorf("%q: %d %s%s", args, code, stdout, said)
		}
	}
	var said strings.Builder
	j := &joined{e: &env{started: time.Date(2026, 11, 29, 9, 0, 0, 0, time.UTC), err: prose.NewWriter(&said)}, dir: dir}
	if err := j.take(bill); err == nil || strings.Contains(said.String(), "part of the case") {
		t.Errorf("%v %s", err, said.String())
	}
}

// judder's own files are never added, in one line that says so; what a killed add left is named.
func TestCaseAdd_OwnFilesAndLeftovers(t *testing.T) {
	tmp := t.TempDir()
	dir := filepath.Join(tmp, "car")
	must(t, "case", "new", dir, "--no-ask")
	if err := os.WriteFile(filepath.Join(dir, "bill.txt"), []byte("bill"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "drives"), 0o700); err != nil {
		t.Fatal(err)
	}
	left := filepath.Join(dir, "drives", ".new-ABCDEFGH")
	if err := os.WriteFile(left, []byte("half"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, said := must(t, "case", "add", dir, dir)
	if c := caseIn(t, dir); len(c.Files) != 1 || c.Files[0].Name != "papers/bill.txt" {
		t.Errorf("%+v", c.Files)
	}
	for _, want := range []string{"left out, because the key and the case.toml of a case are never added: car.key, case.toml\n", "left drives/.new-ABCDEFGH; one that was ended is cleared up by the next add"} {
		if !strings.Contains(said, want) {
			t.Errorf("no %q in %s", want, said)
		}
	}
	long := time.Now().Add(-time.Hour)
	if err := os.Chtimes(left, long, long); err != nil {
		t.Fatal(err)
	}
	if _, said := must(t, "case", "add", dir, filepath.Join(dir, "bill.txt")); !strings.Contains(said, "removed what an add that was ended had left: drives/.new-ABCDEFGH") {
		t.Error(said)
	}
}
