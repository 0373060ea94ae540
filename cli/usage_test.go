package cli

import (
	"strings"
	"testing"
)

// TestMisunderstood: a command line that is not understood gets a sentence that says what to type,
// without the parser's words.
func TestMisunderstood(t *testing.T) {
	for _, c := range []struct{ line, says string }{
		{"demo --for 5", "--for 5: give a time with its unit, such as 45s or 10m; judder demo --help"},
		{"demo --for", "--for: its value is missing"},
		{"demo --seed x", "--seed x: give a whole number"},
		{"demo --fps -1", "--fps: a value that begins with a minus is written --fps=-1"},
		{"replay FILE --speed fast", "--speed fast: give a number"},
		{"review", "FILE is missing"},
		{"review", "type judder review <FILE> ..."},
		{"import drive.csv", "--out is missing"},
		{"import drive.csv", "--out=FILE"},
		{"compare before.json", "after is missing"},
		{"case", "judder case needs one of new"},
		{"drvie", `did you mean "drive"?; judder --help`},
	} {
		code, _, stderr := judder(t, strings.Fields(c.line)...)
		if code != exitUsage || !strings.Contains(stderr, c.says) || strings.Contains(stderr, ": expected ") {
			t.Errorf("judder %s: exit %d, %q; want %q said", c.line, code, stderr, c.says)
		}
	}
}
