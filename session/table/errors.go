// Package table reads and writes readings as columns: one reading a row, or one column a signal, with
// whatever separates the columns, in the units and names that people use.
package table

import (
	"errors"
	"fmt"
	"strings"

	"github.com/judder-obd/judder/prose"
)

// What can be wrong with a file. They come wrapped in an [*Error].
var (
	ErrEmpty     = errors.New("there are no readings in it")
	ErrBinary    = errors.New("this is no text")
	ErrHeader    = errors.New("columns are missing or named twice")
	ErrNoTime    = errors.New("no column holds the time")
	ErrSeparator = errors.New("it is not clear what separates the columns")
	ErrShape     = errors.New("the line does not have the columns of the first line")
	ErrNumber    = errors.New("this is not a number")
	ErrDecimal   = errors.New("this number has a comma")
	ErrThousands = errors.New("this number has marks between its thousands")
	ErrMarks     = errors.New("this number has another decimal mark than those before")
	ErrFinite    = errors.New("this is not a finite number")
	ErrTime      = errors.New("this is not a time since the start of the drive")
	ErrClock     = errors.New("this is not a time as the first row has it")
	ErrBack      = errors.New("the time goes back")
	ErrTimeUnit  = errors.New("the unit of the time is not clear")
	ErrNothing   = errors.New("no column holds a signal")
	ErrMapping   = errors.New("the mapping file does not fit")
	ErrUnit      = errors.New("this is another unit than the signal's own")
	ErrText      = errors.New("this is not a plain name")
)

// Error is what is wrong in a file, where, and what to do about it.
type Error struct {
	File   string
	Line   int    // from 1; 0 for the file as a whole
	Column string // name of the column; "" for the line as a whole
	Found  string // what is there
	Next   string // what to do, in words
	Err    error  // one of the Err values above, or a read error
}

// Error names file, line, column, fault and remedy, without control characters.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(prose.Clean(e.File))
	if e.Line > 0 {
		fmt.Fprintf(&b, ", line %d", e.Line)
	}
	if e.Column != "" {
		fmt.Fprintf(&b, ", column %s", e.Column)
	}
	b.WriteString(": ")
	if e.Found != "" {
		fmt.Fprintf(&b, "%q: ", shorten(e.Found))
	}
	fmt.Fprintf(&b, "%v", e.Err)
	if e.Next != "" {
		b.WriteString("; " + e.Next)
	}
	return prose.Clean(b.String())
}

// Unwrap gives the kind of fault, for errors.Is.
func (e *Error) Unwrap() error { return e.Err }

// shorten keeps a message readable when a cell holds a whole file.
func shorten(s string) string {
	const most = 40
	if r := []rune(s[:min(len(s), 4*most)]); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}
