package pids

import (
	"errors"
	"fmt"
)

// What can be wrong with the data of a reply.
var (
	ErrShort    = errors.New("the reply ends too early")
	ErrLong     = errors.New("the reply is too long")
	ErrNotAsked = errors.New("the reply holds a PID that was not asked")
	ErrTwice    = errors.New("the reply holds the same PID or line twice")
	ErrNotAlone = errors.New("this PID may have several lengths and must be asked alone")
	ErrBase     = errors.New("not a map of supported PIDs")
)

// ReplyError is a fault in a reply of service $01, with its place.
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

// DataError is a fault in a reply of any other service, with its place.
type DataError struct {
	What   string // what was being read
	Offset int    // byte of the reply, from 0
	Err    error
}

// NewDataError makes a DataError: what was being read, the byte, and the cause.
func NewDataError(what string, offset int, err error) *DataError {
	return &DataError{What: what, Offset: offset, Err: err}
}

// Error is one line.
func (e *DataError) Error() string {
	return fmt.Sprintf("%s, byte %d: %v; ask again", e.What, e.Offset, e.Err)
}

// Unwrap gives the cause.
func (e *DataError) Unwrap() error { return e.Err }

// Further causes of a DataError.
var (
	ErrOther  = errors.New("a reply to something else")
	ErrRecord = errors.New("the rest is no whole record")
)
