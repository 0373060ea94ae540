package cli

import (
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
)

// TestMisunderstood: a command line that is not understood gets a sentence that says what to type,
// without the parser's words.
func TestMisunderstood(t *testing.T) {
	for _, c := range []struct{ line, says string }{
		{"demo --for 5", "--for 5: give a time with its unit, such as 45s or 10m; judder demo --help"},
		{"demo --for", "--for: its value is missing"},
		{"demo --seed x", "--seed x: give a whole number"},
		{"demo --seed=-1", "--seed -1: give a whole number, 0 or more"},
		{"demo --seed -1", "--seed: give a whole number, 0 or more"},
		{"demo --fps -1", "--fps: give 1 to 60"},
		{"demo --fps=61", "--fps 61: give 1 to 60"},
		{"replay FILE --fps 0", "--fps 0: give 1 to 60"},
		{"demo --for 0s", "--for 0s: give a time above zero, such as 45s or 20m"},
		{"drive --port x --for 0", "give a time"},
		{"demo --for=-3s", "--for -3s: give a time above zero"},
		{"demo --for -3s", "--for: give a time above zero"},
		{"demo --switch foo", "--switch foo: this is no key; give its name as the key f in a drive shows it, such as f5 or pgup"},
		{"demo --switch F5", "--switch F5: this is no key"},
		{"drive --port x --switch q", "--switch q: this key has its own work in a drive; give another"},
		{"demo --switch=-x", "this is no key"},
		{"demo --switch=", "this is no key"},
		{"replay FILE --speed -3", "--speed: give 0 or more"},
		{"replay FILE --speed=-3", "--speed -3: give 0 or more"},
		{"replay FILE --speed NaN", "--speed NaN: give 0 or more"},
		{"replay FILE --speed=+Inf", "--speed +Inf: give 0 or more"},
		{"picture FILE --event 0", "--event 0: give a number from 1"},
		{"picture FILE --event -2", "--event: give a number from 1"},
		{"case new DIR --odometer=-5", "--odometer -5: give 0 or more"},
		{"case new DIR --speed -3", "--speed: a value that begins with a minus is written --speed=-1"},
		{"case look DIR tyres --at-c -3", "--at-c: a value that begins with a minus is written --at-c=-1"},
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

// Every key that the screen can get is one that --switch takes, under the name that the screen has for it,
// but for those that must keep what they do.
func TestRefuseSwitch_Keys(t *testing.T) {
	kept := 0
	for k := tea.KeyF20; k <= tea.KeyBackspace; k++ {
		name := tea.Key{Type: k}.String()
		if name == "" || k == tea.KeyRunes {
			continue
		}
		if err := refuseSwitch(name); err != nil {
			kept++
			t.Logf("%v", err)
		}
		if alt := (tea.Key{Type: k, Alt: true}).String(); refuseSwitch(name) == nil && refuseSwitch(alt) != nil {
			t.Errorf("%s is refused", alt)
		}
	}
	if kept != 3 || refuseSwitch("q") == nil {
		t.Errorf("%d keys are refused, want esc, ctrl+c, q and backspace", kept)
	}
	for _, name := range []string{"b", "ü", "+", ".", " ", "space", "alt+b"} {
		if err := refuseSwitch(name); err != nil {
			t.Error(err)
		}
	}
	for _, name := range []string{"bb", "f21", "f05", "shift+pgup", "ctrl+m", "ctrl+", "alt+", "ctrl+alt+x", "\x1b", "pageup"} {
		if refuseSwitch(name) == nil {
			t.Errorf("%q is taken", name)
		}
	}
}
