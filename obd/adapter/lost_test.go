package adapter

import (
	"errors"
	"fmt"
	"io"
	"net"
	"strings"
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

// What hung up is named with what to do: a serial port has no host to check.
func TestHungUpError(t *testing.T) {
	for _, c := range []struct {
		bauds       []int
		want, never string
	}{
		{[]int{0}, "check host and port", "judder ports"},
		{[]int{38400, 115200}, "judder ports", "host"},
	} {
		err := &HungUpError{Port: "PORT", Bauds: c.bauds, Err: io.EOF}
		if text := err.Error(); !errors.Is(err, io.EOF) || !strings.HasPrefix(text, "PORT hung up") || !strings.Contains(text, c.want) || strings.Contains(text, c.never) {
			t.Errorf("%v: %s", c.bauds, text)
		}
	}
}
