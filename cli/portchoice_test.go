package cli

import (
	"errors"
	"strings"
	"testing"

	"github.com/judder-obd/judder/cli/remember"
	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/prose"
)

func TestChoosePort(t *testing.T) {
	usb := func(paths ...string) (ports []link.Port) {
		for _, p := range paths {
			ports = append(ports, link.Port{Path: p, Description: "USB serial adapter", USB: true})
		}
		return append(ports, link.Port{Path: "/dev/ttyS0", Description: "built-in serial port"})
	}
	for _, c := range []struct {
		ports      []link.Port
		last, want string // want begins with ? where no port can be chosen: what is said then
	}{
		{usb("/dev/ttyUSB0"), "", "/dev/ttyUSB0"},
		{usb("/dev/ttyUSB0"), "/dev/ttyUSB7", "/dev/ttyUSB0"},
		{usb("/dev/ttyUSB0"), "tcp://192.168.0.10:35000", "/dev/ttyUSB0"}, // what is plugged in wins
		{usb("/dev/ttyUSB0", "/dev/ttyUSB1"), "/dev/ttyUSB1", "/dev/ttyUSB1"},
		{usb("/dev/ttyUSB0"), "/dev/ttyS0", "/dev/ttyS0"}, // used last, and there
		{usb(), "tcp://192.168.0.10:35000", "tcp://192.168.0.10:35000"},
		{usb("/dev/tty.usbserial-1", "/dev/cu.usbserial-1"), "", "/dev/cu.usbserial-1"}, // macOS: one adapter
		{usb("/dev/ttyUSB0", "/dev/ttyUSB1"), "", "?--port /dev/ttyUSB1"},
		{usb(), "", "?plug it in"},
		{usb(), "", "?--port /dev/ttyS0"},
		{usb(), "/dev/rfcomm0", "?/dev/rfcomm0, is not there"},
	} {
		got, why, err := choosePort(c.ports, c.last)
		if words, none := strings.CutPrefix(c.want, "?"); none {
			var usage usageError
			if !errors.As(err, &usage) || !strings.Contains(err.Error(), words) || got != "" {
				t.Errorf("%v, last %q: %q, %v; want no port, and %q said", c.ports, c.last, got, err, words)
			}
			continue
		}
		if got != c.want || err != nil || why == "" {
			t.Errorf("%v, last %q: %q, %q, %v; want %q", c.ports, c.last, got, why, err, c.want)
		}
	}
}

// TestChoose: a port given or in JUDDER_PORT is used as it is; one that is missing ends the command
// before anything is opened.
func TestChoose(t *testing.T) {
	var said strings.Builder
	e := &env{err: prose.NewWriter(&said), computer: computer{ports: noPorts, missing: link.Missing, loadRemembered: remember.Load, changeRemembered: remember.Change}}
	if err := (&portFlags{Port: "/dev/judder-nowhere"}).choose(e); !errors.Is(err, link.ErrNoPort) {
		t.Errorf("a port that is not there: %v", err)
	}
	t.Setenv("JUDDER_PORT", "192.168.0.10")
	if code, _, stderr := judder(t, "adapter"); code != exitUsage || !strings.Contains(stderr, "tcp://192.168.0.10:PORT") {
		t.Errorf("JUDDER_PORT without a scheme: %d, %s", code, stderr)
	}
	remembered := remember.Settings{Port: "tcp://adapter:35000"}
	if err := remember.Change(func(s *remember.Settings) { *s = remembered }); err != nil {
		t.Fatal(err)
	}
	defer func() {
		if _, err := remember.Forget(); err != nil {
			t.Error(err)
		}
	}()
	f := &portFlags{}
	if err := f.choose(e); err != nil || f.Port != remembered.Port || !strings.Contains(said.String(), "used last") {
		t.Errorf("remembered: %q, %v, said %q", f.Port, err, said.String())
	}
}

// TestBell: the bell rings until it was chosen otherwise, and that choice holds.
func TestBell(t *testing.T) {
	kept := remember.Settings{}
	e := &env{computer: computer{loadRemembered: func() (remember.Settings, error) { return kept, nil },
		changeRemembered: func(change func(*remember.Settings)) error { change(&kept); return nil }}}
	off := false
	if !e.bell(nil) || e.bell(&off) || e.bell(nil) {
		t.Errorf("the bell: first %v, then off and remembered as %v", true, kept.Bell)
	}
}

// What is wrong with what is remembered is said once in a command, however often it is asked for.
func TestSettings_SaidOnce(t *testing.T) {
	var said strings.Builder
	wrong := func() (remember.Settings, error) { return remember.Settings{}, errors.New("damaged") }
	e := &env{err: prose.NewWriter(&said), computer: computer{loadRemembered: wrong, changeRemembered: func(func(*remember.Settings)) error { return errors.New("damaged") }}}
	for range 3 {
		e.settings()
		e.remember(func(*remember.Settings) {})
	}
	if n := strings.Count(said.String(), "damaged"); n != 1 {
		t.Errorf("said %d times: %s", n, said.String())
	}
}
