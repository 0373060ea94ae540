package obd

import (
	"errors"
	"fmt"
	"io"
	"net"
	"testing"
)

// Codes are kept in recordings: each cause has its own, and it leads back to the cause.
func TestCauseCodes(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range Causes() {
		if c.String() == "" || seen[c.String()] || CauseByCode(c.String()) != c {
			t.Errorf("cause %d has the code %q, which is that of %d", c, c, CauseByCode(c.String()))
		}
		seen[c.String()] = true
	}
	if CauseByCode("") != CauseUnknown || CauseByCode("of a later version") != CauseUnknown || Cause(200).String() != "" {
		t.Error("what is not known has a cause")
	}
}

// foreign is an error from outside that names its cause.
type foreignError string

func (e foreignError) Error() string     { return "an error" }
func (e foreignError) LinkCause() string { return string(e) }

func TestLostCause(t *testing.T) {
	for _, c := range []struct {
		err  error
		want Cause
	}{
		{nil, CauseBroke},
		{errors.New("?"), CauseBroke},
		{fmt.Errorf("read: %w", io.EOF), CauseUnplugged},
		{net.ErrClosed, CauseUnplugged},
		{openError{errors.New("?")}, CauseNotOpened},
		{openError{fmt.Errorf("open: %w", foreignError("busy"))}, CauseBusy},
		{openError{foreignError("of a later version")}, CauseNotOpened},
		{&SilentError{}, CauseSilent},
		{&SilentError{Heard: true}, CauseNotAdapter},
		{because(CauseStuck, io.ErrShortWrite), CauseStuck},
	} {
		if got := lostCause(c.err); got != c.want {
			t.Errorf("%v: %q, want %q", c.err, got, c.want)
		}
	}
	if !errors.Is(because(CauseStuck, io.EOF), io.EOF) {
		t.Error("the error of a cause is lost")
	}
}
