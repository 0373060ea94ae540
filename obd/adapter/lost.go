package adapter

import (
	"errors"
	"fmt"
	"io"
	"net"
	"slices"
	"strings"

	"github.com/judder-obd/judder/obd"
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

// openError is a port that did not open.
type openError struct{ error }

func (e openError) Unwrap() error { return e.error }

// NotOpened reports whether an error says that the port does not open: trying again is of no use
// where it never did.
func NotOpened(err error) bool { return errors.As(err, new(openError)) }

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
	case NotOpened(err):
		return obd.CauseNotOpened
	case errors.Is(err, io.EOF), errors.Is(err, net.ErrClosed), errors.Is(err, io.ErrClosedPipe):
		return obd.CauseUnplugged
	}
	return obd.CauseBroke
}

// lostText is why the link went.
func lostText(name string, err error) string {
	switch {
	case err == nil:
		return "lost " + name
	case errors.Is(err, io.EOF):
		return "the adapter is gone from " + name + " (unplugged, out of range, or without power)"
	}
	return strings.TrimRight(err.Error(), ".")
}

// SilentError reports that a port opened and nothing behind it spoke like an adapter.
type SilentError struct {
	Port  string
	Bauds []int
	Heard bool // something came, but it made no sense
}

// LinkCause is the code of the cause.
func (e *SilentError) LinkCause() string {
	if e.Heard {
		return obd.CauseNotAdapter.String()
	}
	return obd.CauseSilent.String()
}

// Error is one line: what, where, what to do next.
func (e *SilentError) Error() string {
	switch network := onNetwork(e.Bauds); {
	case network && e.Heard:
		return e.Port + " answers, but not like an ELM327-style adapter; check the address and the port number in the adapter's papers"
	case network:
		return e.Port + " takes the connection, and nothing answers; check the address and the port number in the adapter's papers, " +
			"that no other program or telephone uses the adapter, and that it has power (ignition on)"
	case e.Heard:
		return fmt.Sprintf("%s answers, but not like an ELM327-style adapter%s; "+
			"give the adapter's serial speed with --baud, or check that this is the right port (judder ports)", e.Port, speedsText(e.Bauds))
	}
	return fmt.Sprintf("nothing answers on %s%s; check that the adapter is plugged in and has power, "+
		"that no other program uses it, and that this is the right port (judder ports)", e.Port, speedsText(e.Bauds))
}

// HungUpError reports that what is at a port hung up before anything was read.
type HungUpError struct {
	Port  string
	Bauds []int // the serial speeds that were to be tried
	Err   error // the link's
}

// Unwrap is the link's error.
func (e *HungUpError) Unwrap() error { return e.Err }

// Error is one line: what, where, what to do next.
func (e *HungUpError) Error() string {
	if onNetwork(e.Bauds) {
		return fmt.Sprintf("%s hung up (%v): no adapter answers there; check host and port (an adapter has a port of its own, "+
			"not that of a web page), and that no other program is connected", e.Port, e.Err)
	}
	return fmt.Sprintf("%s hung up (%v): the adapter was unplugged, lost its power, or is out of range; "+
		"plug it in again or pair it again, and check that this is the right port (judder ports)", e.Port, e.Err)
}

// onNetwork reports whether there is no serial speed to get wrong.
func onNetwork(bauds []int) bool { return slices.Equal(bauds, []int{0}) }

func speedsText(bauds []int) string {
	words := make([]string, len(bauds))
	for i, b := range bauds {
		words[i] = fmt.Sprint(b)
	}
	return " at " + strings.Join(words, ", ") + " baud"
}
