//go:build linux || darwin

package cli

import (
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/creack/pty"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/pids/dtc"
)

// onTerminal runs a command on a terminal so many columns wide and returns what it shows.
func onTerminal(t *testing.T, cols uint16, args ...string) (lines []string) {
	t.Helper()
	far, near, err := pty.Open()
	if err != nil {
		t.Skip("no pseudo-terminals here:", err)
	}
	if err := pty.Setsize(near, &pty.Winsize{Rows: 24, Cols: cols}); err != nil {
		t.Fatal(err)
	}
	read := make(chan string)
	go func() {
		text, _ := io.ReadAll(far) // ends with an error when the other side is closed
		read <- string(text)
	}()
	Main(args, near, near)
	_ = near.Close()
	text := <-read
	_ = far.Close()
	return strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n")
}

// Text on a terminal is broken between words, by its width; a path that is longer than a line stays
// whole.
func TestText_ByTheTerminal(t *testing.T) {
	dir := filepath.Join(t.TempDir(), strings.Repeat("a-long-folder", 8))
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	before, after := filepath.Join(dir, "a.json"), filepath.Join(dir, "b.json")
	for path, code := range map[string]string{before: "P0741", after: "P0304"} {
		r := &check.Report{VIN: "x", ECUs: []check.ECU{{ID: "7E8", Name: "ECM-EngineControl with a name that goes on for longer than any line of this terminal"}}}
		r.ECUs[0].Codes = []check.Code{{Code: code, State: dtc.Stored, Text: "torque converter clutch circuit performance or stuck off, as the standard words it"}}
		if err := check.Save(path, r); err != nil {
			t.Fatal(err)
		}
	}
	for name, args := range map[string][]string{
		"compare": {"compare", before, after},
		"clear":   {"clear", "--port", "tcp://127.0.0.1:1", "--out", filepath.Join(dir, "c.json")},
	} {
		_, out, said := judder(t, args...)
		words := strings.Fields(out + said)
		for _, cols := range []uint16{50, 70, 110} {
			got := onTerminal(t, cols, args...)
			if !slices.Equal(strings.Fields(strings.Join(got, " ")), words) {
				t.Errorf("%s, %d columns: a word is broken or lost:\n%s", name, cols, strings.Join(got, "\n"))
			}
			widest := 0
			for _, line := range got {
				n := len([]rune(line))
				if widest = max(widest, n); n >= int(cols) && !strings.Contains(line, dir) {
					t.Errorf("%s, %d columns: %q", name, cols, line)
				}
			}
			if widest < int(cols)*3/4 {
				t.Errorf("%s, %d columns: the widest line has %d", name, cols, widest)
			}
		}
	}
}
