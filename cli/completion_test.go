package cli

import (
	"slices"
	"strings"
	"testing"

	"github.com/alecthomas/kong"
)

func commandTree(t *testing.T) *kong.Node {
	t.Helper()
	parser, err := kong.New(&grammar{}, kong.Vars{"version": "0"})
	if err != nil {
		t.Fatal(err)
	}
	return parser.Model.Node
}

func TestCandidates(t *testing.T) {
	root := commandTree(t)
	ports := func() []string { return []string{"/dev/ttyUSB0", "/dev/ttyUSB1"} }
	for _, c := range []struct {
		words string // a blank at the end: the word to complete is empty
		want  string
	}{
		{"re", "replay review report"},
		{"rev", "review"},
		{"com", "compare completion"}, // the hidden command is not offered
		{"drive --po", "--port"},
		{"drive --port ", "/dev/ttyUSB0 /dev/ttyUSB1"},
		{"drive --port /dev/ttyUSB1 --no-b", "--no-bell"},
		{"drive --bell --headl", "--headless"}, // a switch takes no value
		{"completion ", "bash zsh fish powershell"},
		{`completion ""`, "bash zsh fish powershell"}, // the empty word as PowerShell hands it on
		{"completion f", "fish"},
		{"review dri", ""},       // a file: the shell completes it
		{"nonsense dr", "drive"}, // a misspelt command: its place is still to be filled
	} {
		want := strings.Fields(c.want)
		got := candidates(root, strings.Split(c.words, " "), ports)
		if !slices.Equal(got, want) {
			t.Errorf("%q completes to %q, want %q", c.words, got, want)
		}
	}
}

// TestCompletion_Scripts: each script asks the command that answers.
func TestCompletion_Scripts(t *testing.T) {
	for _, shell := range []string{"bash", "zsh", "fish", "powershell"} {
		code, out, _ := judder(t, "completion", shell)
		if code != exitOK || !strings.Contains(out, "judder complete -- ") {
			t.Errorf("%s: exit %d, script\n%s", shell, code, out)
		}
	}
	if code, out, _ := judder(t, "complete", "--", "drive", "--head"); code != exitOK || out != "--headless\n" {
		t.Errorf("judder complete: exit %d, %q", code, out)
	}
}

// TestManPage: every command and flag that the help shows is in the page, and no text can be
// taken for a request of troff.
func TestManPage(t *testing.T) {
	root := commandTree(t)
	page := manPage(root)
	for _, c := range root.Children {
		if heading := "\n.SS judder " + troff(c.Name); strings.Contains(page, heading) == c.Hidden {
			t.Errorf("heading %q: in the page is %v", heading, c.Hidden)
		}
		for _, f := range c.Flags {
			if !c.Hidden && !strings.Contains(page, troff(f.Help)) {
				t.Errorf("%s --%s is missing", c.Name, f.Name)
			}
		}
	}
	if got, want := troff(".5 of a-b\n'c\\d"), `\&.5 of a\-b`+"\n"+`\&'c\ed`; got != want {
		t.Errorf("troff gives %q, want %q (groff(7))", got, want)
	}
}

func TestHelpAndVersion(t *testing.T) {
	_, flag, _ := judder(t, "--version")
	_, command, _ := judder(t, "version")
	if flag != command || !strings.HasPrefix(flag, "judder ") {
		t.Errorf("--version prints %q, version %q", flag, command)
	}
	_, help, _ := judder(t, "help", "review")
	_, want, _ := judder(t, "review", "--help")
	if help != want || !strings.Contains(help, "judder review") {
		t.Errorf("help review prints\n%s\nnot what review --help does", help)
	}
}
