package drive

import (
	"errors"
	"io"
	"judder/obd"
	"net"
)

// causedError is an error of the dialogue that knows its cause.
type causedError struct {
	error
	cause obd.Cause
}

func (e *causedError) Unwrap() error { return e.error }

func (e *causedError) LinkCause() string { return e.cause.String() }

// because gives an error its cause.
func because(cause obd.Cause, err error) error { return &causedError{err, cause} }

// lostCause is the cause of a link that was lost with this error. An error from outside names
// it by its code, in a method LinkCause: the package that opens links imports nothing of ours.
func lostCause(err error) obd.Cause {
	var named interface{ LinkCause() string }
	if errors.As(err, &named) {
		if c := obd.CauseByCode(named.LinkCause()); c != obd.CauseUnknown {
			return c
		}
	}
	switch {
	case hopeless(err):
		return obd.CauseNotOpened
	case errors.Is(err, io.EOF), errors.Is(err, net.ErrClosed), errors.Is(err, io.ErrClosedPipe):
		return obd.CauseUnplugged
	}
	return obd.CauseBroke
}
