// Package noquery keeps the program from asking the terminal for its colours.
//
// bubbletea v1 asks for the background colour in its package init, so in every
// subcommand, and waits up to five seconds for a terminal that does not answer. It asks
// through lipgloss, which does not ask when it has been told. This package tells it, and
// imports lipgloss alone, so that the linker can run its init before bubbletea's:
// packages are initialised in the order of their import paths as soon as all they import
// is initialised, and bubbletea waits for packages ("log", "os/signal") that sort after
// this one. The order is the linker's to choose; a test builds a program and watches what
// it sends to a terminal.
//
// The colours of the screen are therefore fixed, and chosen to read on dark and on light.
package noquery

import "github.com/charmbracelet/lipgloss"

func init() {
	lipgloss.SetHasDarkBackground(true)
}
