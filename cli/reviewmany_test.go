package cli

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/recording"
)

// A folder is reviewed file by file in order of names; a damaged file is one line and stops nothing,
// and the raw replies of a code check are no failure.
func TestReview_Folder(t *testing.T) {
	good := realDrive(t, "stopstart-road")
	dir := t.TempDir()
	text, err := os.ReadFile(good)
	if err != nil {
		t.Fatal(err)
	}
	for name, content := range map[string]string{
		"w3.jsonl": string(text), "w1.jsonl": string(text), "w2.jsonl": "hello\n\x1b[31m", "w10.JSONL": string(text), "notes.txt": "x",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	w, err := recording.Create(filepath.Join(dir, "w4.jsonl"), session.ForCheck(recording.Header{}))
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Close("done"); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		arg  string
		want []string
	}{
		{dir, []string{"w1.jsonl", "w10.JSONL", "w2.jsonl error", "w3.jsonl"}},
		{filepath.Join(dir, "w?.jsonl"), []string{"w1.jsonl", "w2.jsonl error", "w3.jsonl"}},
	} {
		code, stdout, stderr := judder(t, "review", "--json", c.arg)
		var got []string
		for _, line := range strings.Split(strings.TrimSpace(stdout), "\n") {
			var row struct{ File, Error, Verdict string }
			if err := json.Unmarshal([]byte(line), &row); err != nil {
				t.Fatalf("%q: %v", line, err)
			}
			name := filepath.Base(row.File)
			if row.Error != "" {
				name += " error"
			}
			if (row.Error == "") == (row.Verdict == "") {
				t.Errorf("a line with neither or both of error and verdict: %s", line)
			}
			got = append(got, name)
		}
		if code != exitFailed || !slices.Equal(got, c.want) || !strings.Contains(stderr, "w4.jsonl holds the raw replies") {
			t.Errorf("%s: exit %d, %q, want %q; %s", c.arg, code, got, c.want, stderr)
		}
	}
	one := reviewJSON(t, good)
	many := reviewJSON(t, filepath.Join(dir, "w[1].jsonl"))
	if many.Duration != one.Duration || many.Verdict != one.Verdict {
		t.Errorf("in a folder %+v, alone %+v", many, one)
	}
	for arg, says := range map[string]string{t.TempDir(): "no recordings", filepath.Join(dir, "q*.jsonl"): "no file fits", filepath.Join(dir, "w[.jsonl"): "]"} {
		if code, _, stderr := judder(t, "review", arg); code == exitOK || !strings.Contains(stderr, says) {
			t.Errorf("review %s: exit %d, %s; want %q", arg, code, stderr, says)
		}
	}
}

// Results come in the order of the items, no more are worked on at once than there are cores, and an
// error of the taker ends it.
func TestInOrder(t *testing.T) {
	items := make([]int, 200)
	for i := range items {
		items[i] = i
	}
	var now, most atomic.Int32
	work := func(i int) int {
		n := now.Add(1)
		for old := most.Load(); n > old && !most.CompareAndSwap(old, n); old = most.Load() {
			continue
		}
		runtime.Gosched()
		now.Add(-1)
		return 2 * i
	}
	var got []int
	if err := inOrder(items, work, func(r int) error { got = append(got, r); return nil }); err != nil {
		t.Fatal(err)
	}
	for i, r := range got {
		if r != 2*i {
			t.Fatalf("result %d is %d", i, r)
		}
	}
	if len(got) != len(items) || int(most.Load()) > runtime.NumCPU() {
		t.Errorf("%d results, %d at once on %d cores", len(got), most.Load(), runtime.NumCPU())
	}
	full, taken := errors.New("full"), 0
	if err := inOrder(items, work, func(int) error { taken++; return full }); !errors.Is(err, full) || taken != 1 {
		t.Errorf("error %v after %d", err, taken)
	}
}
