// Package noquery keeps the program from asking the terminal for its colours.
//
// bubbletea v1 asks for the background colour in its package init, so in every command of
// the program, and waits up to five seconds for a terminal that does not answer. No
// option reaches it before that. But it asks through termenv, which does not ask while the
// environment variable CI is set. So this package sets CI in its init, and package tui calls
// Restore in its own, which comes after bubbletea's because tui imports it.
//
// It has to be initialised before bubbletea. Go initialises packages in the order of their
// import paths, each as soon as all it imports is initialised (Go specification, "Program
// initialization"; the tool chain sorts them since Go 1.21). This package imports os alone,
// so it is ready early; bubbletea waits, among others, for package unicode, which sorts
// after this one. Telling lipgloss instead, from a package that imports it, does not help:
// once lipgloss is initialised bubbletea is ready too, and sorts first. A test in package
// tui builds a program and watches what it sends to a terminal.
//
// Only import it into programs that import package tui as well. The colours of the screen
// are fixed, and chosen to read on dark and on light.
package noquery

import "os"

// variable is what termenv looks at.
const variable = "CI"

// before is what the environment held, when it held anything.
var before, held = hide()

func hide() (string, bool) {
	value, ok := os.LookupEnv(variable)
	if value == "" {
		_ = os.Setenv(variable, "1") // fails for a bad name only
	}
	return value, ok
}

// Restore puts the environment back as it was. Package tui calls it.
func Restore() {
	if held {
		_ = os.Setenv(variable, before)
		return
	}
	_ = os.Unsetenv(variable)
}
