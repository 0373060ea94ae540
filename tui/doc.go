// Package tui is the screen: one tea.Model that pulls a session.Snapshot on a frame tick
// and a few panes, plain structs and functions, that turn it into lines of text. The page before a
// session, where what to do is chosen, is a model of its own.
//
// The wave (package wave) is the last seconds, or one shudder, at true times. All other pictures of a
// frame share one time axis: the chart, the strip of usable time under it, and the line of dots of every
// signal. A column is never interpolated: it shows the readings that fell into its time, or nothing.
//
// What comes from a car, a file or a user is cleaned of control characters and cut to its
// column before it is drawn. What is not known is a dash.
//
// bubbletea stays at v1.3.10, with lipgloss v1.1.0: v1 is frozen, not broken. On the same screen it
// takes half the processor time of v2 and twice the bytes, both far below any budget. To move takes
// half a day, as the screen is one model and strings; a security hole, or a Go release that breaks
// v1, is the reason to. lipgloss v1.1.0 does not build with x/ansi raised alone: raise x/cellbuf too.
package tui

import "github.com/judder-obd/judder/tui/noquery"

// bubbletea has been initialised: this package imports it.
func init() { noquery.Restore() }
