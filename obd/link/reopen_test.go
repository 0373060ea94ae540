package link

import (
	"context"
	"errors"
	"net"
	"strings"
	"testing"
)

// bench is a computer with adapters to plug in and out.
type bench struct {
	plugged []usbPort
	lost    error // when the list cannot be had
	opened  []string
}

func (b *bench) ports() ([]usbPort, error) { return b.plugged, b.lost }

func (b *bench) name(path string) string {
	for _, p := range b.plugged {
		if p.path == path {
			return p.name
		}
	}
	return ""
}

func (b *bench) open(_ context.Context, path string, baud int) (*Link, error) {
	b.opened = append(b.opened, path)
	if b.name(path) == "" && strings.HasPrefix(path, "/dev/ttyUSB") {
		return nil, newOpenError(path, baud, ErrNoPort)
	}
	l, _ := Pipe()
	return l, nil
}

func reopenerOn(b *bench, target string) *Reopener {
	return &Reopener{target: target, path: target, open: b.open, usb: usbBus{ports: b.ports, name: b.name}}
}

// step is what is plugged in and what opening must come to then.
type step struct {
	plugged []usbPort
	path    string // opened
	err     error  // nil when it must succeed
}

// TestReopener: what happens between two openings of /dev/ttyUSB0, and what is opened then.
func TestReopener(t *testing.T) {
	const zero, one, two = "/dev/ttyUSB0", "/dev/ttyUSB1", "/dev/ttyUSB2"
	other := adapter("", "1-1")
	other.Vendor = "0403"
	for name, steps := range map[string][]step{
		"comes back as before": {
			{[]usbPort{at(zero, adapter("A", "1-1"))}, zero, nil},
			{nil, zero, ErrNoPort},
			{[]usbPort{at(zero, adapter("A", "1-1"))}, zero, nil},
		},
		"comes back under another path, and once more": {
			{[]usbPort{at(zero, adapter("", "1-1"))}, zero, nil},
			{[]usbPort{at(one, adapter("", "1-1"))}, one, nil},
			{nil, zero, ErrNoPort},
			{[]usbPort{at(two, adapter("", "1-1"))}, two, nil},
			{[]usbPort{at(zero, adapter("", "1-1"))}, zero, nil},
		},
		"moved by serial number while another took its path": {
			{[]usbPort{at(zero, adapter("A", "1-1"))}, zero, nil},
			{[]usbPort{at(zero, other)}, "", ErrOther},
			{[]usbPort{at(zero, other), at(one, adapter("A", "1-3"))}, one, nil},
			{[]usbPort{at(zero, adapter("A", "1-3"))}, zero, nil},
		},
		"no serial number, moved: the twin is not taken": {
			{[]usbPort{at(zero, adapter("", "1-1")), at(one, adapter("", "1-2"))}, zero, nil},
			{[]usbPort{at(one, adapter("", "1-2"))}, zero, ErrNoPort},
			{[]usbPort{at(one, adapter("", "1-2")), at(two, adapter("", "1-3"))}, zero, ErrCannotTell},
			{[]usbPort{at(one, adapter("", "1-2")), at(zero, adapter("", "1-3"))}, zero, nil}, // the path as given
			{[]usbPort{at(one, adapter("", "1-2")), at(two, adapter("", "1-3"))}, two, nil},   // known by its new place
		},
		"the twin that stayed gets the path": {
			{[]usbPort{at(zero, adapter("", "1-1")), at(one, adapter("", "1-2"))}, zero, nil},
			{[]usbPort{at(zero, adapter("", "1-2"))}, "", ErrOther},
			{nil, zero, ErrNoPort},
			{[]usbPort{at(zero, adapter("", "1-2"))}, zero, nil}, // it left: now it may be either
		},
		"a serial number that the twin has too": {
			{[]usbPort{at(zero, adapter("0001", "1-1")), at(one, adapter("0001", "1-2"))}, zero, nil},
			{[]usbPort{at(one, adapter("0001", "1-2"))}, zero, ErrNoPort},
			{[]usbPort{at(one, adapter("0001", "1-2")), at(two, adapter("0001", "1-1"))}, two, nil},
			{nil, zero, ErrNoPort},
			{[]usbPort{at(one, adapter("0001", "1-3"))}, zero, ErrCannotTell}, // it may be either
		},
	} {
		t.Run(name, func(t *testing.T) {
			b := &bench{}
			r := reopenerOn(b, zero)
			for i, s := range steps {
				b.plugged, b.opened = s.plugged, nil
				checkStep(t, i, s, r, b)
			}
		})
	}
}

func checkStep(t *testing.T, i int, s step, r *Reopener, b *bench) {
	t.Helper()
	l, err := r.Open(t.Context(), 38400)
	if got := strings.Join(b.opened, " "); got != s.path {
		t.Errorf("step %d: opened %q, want %q", i, got, s.path)
	}
	if s.err == nil {
		if err != nil || l == nil {
			t.Errorf("step %d: %v", i, err)
		} else if r.Path() != s.path {
			t.Errorf("step %d: Path = %q, want %q", i, r.Path(), s.path)
		}
		return
	}
	var open *OpenError
	if !errors.Is(err, s.err) || !errors.As(err, &open) || open.Next == "" || open.Baud != 38400 {
		t.Errorf("step %d: %v; want *OpenError, %v, what to do next", i, err, s.err)
	}
	if errors.Is(s.err, ErrNoPort) && errors.Is(err, ErrCannotTell) {
		t.Errorf("step %d: %v; want no doubt: nothing here may be the adapter", i, err)
	}
}

// TestReopener_WithoutIdentity: what is no USB adapter is opened as given, each time.
func TestReopener_WithoutIdentity(t *testing.T) {
	for _, target := range []string{"tcp://192.168.0.10:35000", "/dev/rfcomm0", "/dev/pts/3"} {
		b := &bench{plugged: []usbPort{at("/dev/ttyUSB0", adapter("A", "1-1"))}}
		r := reopenerOn(b, target)
		for range 2 {
			if _, err := r.Open(t.Context(), 0); err != nil {
				t.Errorf("%s: %v", target, err)
			}
		}
		if got := strings.Join(b.opened, " "); got != target+" "+target || r.Path() != target {
			t.Errorf("opened %q, Path %q; want %q twice", got, r.Path(), target)
		}
	}
}

// TestReopener_NoList: without the list of ports it does what Open does, and takes up the
// list again when it comes back.
func TestReopener_NoList(t *testing.T) {
	b := &bench{plugged: []usbPort{at("/dev/ttyUSB0", adapter("A", "1-1"))}}
	r := reopenerOn(b, "/dev/ttyUSB0")
	for _, lost := range []error{nil, errors.New("no list")} {
		b.lost = lost
		if _, err := r.Open(t.Context(), 0); err != nil {
			t.Fatal(err)
		}
	}
	b.lost = nil
	b.plugged = []usbPort{at("/dev/ttyUSB4", adapter("A", "1-1"))}
	if _, err := r.Open(t.Context(), 0); err != nil || r.Path() != "/dev/ttyUSB4" {
		t.Errorf("Open = %v, Path %q; want it followed", err, r.Path())
	}
}

// TestNewReopener_OnThisComputer goes through the real Open and the real list of ports.
func TestNewReopener_OnThisComputer(t *testing.T) {
	if _, err := NewReopener("/dev/no-such-port").Open(t.Context(), 0); !errors.Is(err, ErrNoPort) {
		t.Errorf("Open = %v; want ErrNoPort", err)
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = listener.Close() }()
	r := NewReopener("tcp://" + listener.Addr().String())
	for range 2 {
		l, err := r.Open(t.Context(), 0)
		if err != nil {
			t.Fatal(err)
		}
		_ = l.Close()
	}
}
