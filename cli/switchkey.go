package cli

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// keptKeys are keys that no switch may take: they must keep what they do.
var keptKeys = []string{"esc", "ctrl+c", "q", "backspace"}

// refuseSwitch says what to give instead of a word that names no key, or one that must keep what it does.
func refuseSwitch(name string) error {
	const such = ", such as f5 or pgup"
	switch {
	case slices.Contains(keptKeys, name):
		return usageError(fmt.Sprintf("--switch %s: this key has its own work in a drive; give another%s", name, such))
	case !isKey(strings.TrimPrefix(name, "alt+")):
		return usageError(fmt.Sprintf("--switch %s: this is no key; give its name as the key f in a drive shows it%s", name, such))
	}
	return nil
}

// isKey reports whether a key has this name on the screen.
func isKey(name string) bool {
	if r := []rune(name); len(r) == 1 {
		return unicode.IsPrint(r[0]) || r[0] == ' '
	}
	held, last := "", name
	if i := strings.LastIndex(name, "+"); i >= 0 {
		held, last = name[:i+1], name[i+1:]
	}
	switch last {
	case "up", "down", "left", "right", "home", "end":
		return held == "" || held == "ctrl+" || held == "shift+" || held == "ctrl+shift+"
	case "pgup", "pgdown":
		return held == "" || held == "ctrl+"
	case "tab":
		return held == "" || held == "shift+"
	case "enter", "space", "insert", "delete":
		return held == ""
	}
	if held == "ctrl+" { // a terminal sends ctrl+i as tab, ctrl+m as enter and ctrl+[ as esc
		return len(last) == 1 && strings.Contains(`@abcdefghjklnopqrstuvwxyz\]^_`, last)
	}
	return held == "" && slices.Contains(functionKeys, last)
}

// functionKeys are the keys f1 to f20.
var functionKeys = func() (names []string) {
	for n := range 20 {
		names = append(names, fmt.Sprintf("f%d", n+1))
	}
	return names
}()

// switchKey is the key of a name as the screen gets it.
func switchKey(name string) string {
	if name == "space" {
		return " "
	}
	return name
}
