package tui

import (
	"strings"
	"unicode"

	tea "github.com/charmbracelet/bubbletea"
)

// notSwitches are keys that must keep what they do.
var notSwitches = map[string]bool{"esc": true, "ctrl+c": true, "q": true, "backspace": true}

// KeepsItsWork reports whether the key of a name must keep what it does, so that no switch may take it.
func KeepsItsWork(name string) bool { return notSwitches[name] }

// IsKey reports whether a key has this name, as the key f of a drive shows it.
func IsKey(name string) bool {
	name = strings.TrimPrefix(name, "alt+")
	if r := []rune(name); len(r) == 1 {
		return unicode.IsPrint(r[0]) || r[0] == ' '
	}
	if name == keyName(" ") {
		return true
	}
	const last, first = 127, -128 // all types of keys of the library, control characters above zero
	for k := tea.KeyType(first); k <= last; k++ {
		if name != "" && k != tea.KeyRunes && k.String() == name {
			return true
		}
	}
	return false
}

// keyOf is the key of a name.
func keyOf(name string) string {
	if name == keyName(" ") {
		return " "
	}
	return name
}
