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

// The names that the screen has for keys are taken, in a row of their kinds; those of keys that must keep
// what they do are not, and neither is any other word.
func TestRefuseSwitch(t *testing.T) {
	for _, name := range strings.Fields("b B ü + . 5 space alt+b alt++ alt+f5 enter tab shift+tab insert delete up down left right home end pgup pgdown " +
		"ctrl+home shift+end ctrl+shift+up ctrl+pgup ctrl+pgdown f1 f5 f20 ctrl+a ctrl+z ctrl+@ ctrl+\\ ctrl+_") {
		if err := refuseSwitch(name); err != nil {
			t.Error(err)
		}
	}
	for _, name := range []string{"q", "esc", "ctrl+c", "backspace"} {
		if err := refuseSwitch(name); err == nil || !strings.Contains(err.Error(), "own work") {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, name := range []string{"", "bb", "f0", "f21", "f05", "F5", "shift+pgup", "shift+f5", "ctrl+enter", "ctrl+m", "ctrl+i", "ctrl+", "alt+", "ctrl+alt+x", "\x1b", "pageup", "+f5"} {
		if err := refuseSwitch(name); err == nil || !strings.Contains(err.Error(), "no key") {
			t.Errorf("%q: %v", name, err)
		}
	}
}
