package prose

import (
	"os/exec"
	"strings"
	"testing"
)

func TestQuoted(t *testing.T) {
	for name, want := range map[string]string{
		"drive.jsonl": "drive.jsonl", "/workshop/car-1/d.jsonl": "/workshop/car-1/d.jsonl", `C:\cars\d.jsonl`: `C:\cars\d.jsonl`,
		"tcp://10.0.0.7:35000": "tcp://10.0.0.7:35000", "Öl.jsonl": "Öl.jsonl",
		"my drive.jsonl": `"my drive.jsonl"`, `C:\my cars\d.jsonl`: `"C:\my cars\d.jsonl"`, "": `""`,
		"-odd.jsonl": "./-odd.jsonl", "it's.jsonl": `"it's.jsonl"`, "a & b": `"a & b"`, "5$ car's": `'5$ car'\''s'`,
	} {
		if got := Quoted(name); got != want {
			t.Errorf("%q is %s, want %s", name, got, want)
		}
	}
}

// A POSIX shell, where there is one, reads the name back.
func TestQuoted_Shell(t *testing.T) {
	sh, err := exec.LookPath("sh")
	if err != nil {
		t.Skip("no shell")
	}
	for _, name := range []string{"plain.jsonl", "my drive.jsonl", "it's", "5$HOME car's", `a"b`, "`id`", "a;b|c", "*.jsonl", "~me", "#1", "(1)", "", "Öl 漢字"} {
		out, err := exec.Command(sh, "-c", "printf %s "+Quoted(name)).Output()
		if err != nil || string(out) != name {
			t.Errorf("%q comes back as %q: %v", name, out, err)
		}
	}
}

// A quoted file name stays whole where a line is broken: a command that is copied must be one.
func TestWrap_QuotedName(t *testing.T) {
	const text = `what speaks for which cause is in judder review --all "/workshop/my cars/blue estate/drive 1.jsonl" and more`
	for w := 20; w < 100; w += 7 {
		if lines := WrapText(text, w); !strings.Contains(strings.Join(lines, "\n"), `"/workshop/my cars/blue estate/drive 1.jsonl"`) {
			t.Errorf("at %d:\n%s", w, strings.Join(lines, "\n"))
		}
	}
	for _, l := range WrapText(`"uphill" is kept, but is no speed: write it into car/case.toml like "60-70 km/h" or "light"`, 40) {
		if Cells(l) > 40 {
			t.Errorf("what is between two quoted parts is not broken: %q", l)
		}
	}
	if lines := WrapText(`the customer says "it hums a little and then it shakes" each day`, 20); len(lines) < 3 {
		t.Errorf("%q", lines)
	}
}
