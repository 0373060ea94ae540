package pids

import (
	"errors"
	"fmt"
)

// The ways in which the data of a reply can be wrong.
var (
	ErrShort    = errors.New("the reply ends too early")
	ErrLong     = errors.New("the reply is too long")
	ErrNotAsked = errors.New("the reply holds a PID that was not asked")
	ErrTwice    = errors.New("the reply holds the same PID or line twice")
	ErrNotAlone = errors.New("this PID may have several lengths and must be asked alone")
	ErrBase     = errors.New("not a map of supported PIDs")
)

// ReplyError says what is wrong with a reply of service $01, and where.
type ReplyError struct {
	PID    byte  // in whose data
	Offset int   // byte in what was given, from 0
	Err    error // one of the errors above
}

// Error is one line.
func (e *ReplyError) Error() string {
	return fmt.Sprintf("PID $%02X, byte %d: %v; the reply is dropped, ask again", e.PID, e.Offset, e.Err)
}

// Unwrap gives the cause.
func (e *ReplyError) Unwrap() error { return e.Err }
