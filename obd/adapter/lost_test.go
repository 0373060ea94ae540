package adapter

import (
	"errors"
	"fmt"
	"io"
	"net"
	"testing"

	"github.com/judder-obd/judder/obd"
)

// foreign is an error from outside that names its cause.
type foreignError string

func (e foreignError) Error() string { return "an error" }

func (e foreignError) LinkCause() string { return string(e) }

func TestLostCause(t *testing.T) {
	for _, c := range []struct {
		err  error
		want obd.Cause
	}{
		{nil, obd.CauseBroke},
		{errors.New("?"), obd.CauseBroke},
		{fmt.Errorf("read: %w", io.EOF), obd.CauseUnplugged},
		{net.ErrClosed, obd.CauseUnplugged},
		{openError{errors.New("?")}, obd.CauseNotOpened},
		{openError{fmt.Errorf("open: %w", foreignError("busy"))}, obd.CauseBusy},
		{openError{foreignError("of a later version")}, obd.CauseNotOpened},
		{&SilentError{}, obd.CauseSilent},
		{&SilentError{Heard: true}, obd.CauseNotAdapter},
		{because(obd.CauseStuck, io.ErrShortWrite), obd.CauseStuck},
	} {
		if got := lostCause(c.err); got != c.want {
			t.Errorf("%v: %q, want %q", c.err, got, c.want)
		}
	}
	if !errors.Is(because(obd.CauseStuck, io.EOF), io.EOF) {
		t.Error("the error of a cause is lost")
	}
}
