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

// DataError says what is wrong with a reply, and at which byte of it, from 0.
type DataError struct {
	What   string // what was being read
	Offset int
	Err    error
}

// NewDataError makes the error of a byte that cannot be.
func NewDataError(what string, offset int, err error) *DataError {
	return &DataError{What: what, Offset: offset, Err: err}
}

// Error is one line.
func (e *DataError) Error() string {
	return fmt.Sprintf("%s, byte %d: %v; ask again", e.What, e.Offset, e.Err)
}

// Unwrap gives the cause.
func (e *DataError) Unwrap() error { return e.Err }

// Causes of a DataError beside those of a ReplyError.
var (
	ErrOther  = errors.New("an answer to something else")
	ErrRecord = errors.New("what is left is no whole record")
)
