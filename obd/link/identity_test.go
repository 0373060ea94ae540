package link

import (
	"errors"
	"strings"
	"testing"
	"unicode"
)

// Adapters for tests: three of one make, one without a serial number, and another make.
func adapter(serial, location string) Identity {
	return Identity{Vendor: "1A86", Product: "7523", Serial: serial, Location: location, Part: "00.0"}
}

func at(path string, id Identity) usbPort {
	return usbPort{path: path, name: strings.TrimPrefix(path, "/dev/"), id: id}
}

func TestCompare(t *testing.T) {
	other, part := adapter("A", "1-1"), adapter("A", "1-1")
	other.Product, part.Part = "55D4", "01.0"
	twin := adapter("A", "1-1")
	twin.Shared = true
	for name, c := range map[string]struct {
		id, now Identity
		want    verdict
	}{
		"unchanged":                          {adapter("A", "1-1"), adapter("A", "1-1"), same},
		"moved, by serial number":            {adapter("A", "1-1"), adapter("A", "1-2"), same},
		"other serial number in its place":   {adapter("A", "1-1"), adapter("B", "1-1"), another},
		"no serial number, same place":       {adapter("", "1-1"), adapter("", "1-1"), same},
		"no serial number, moved":            {adapter("", "1-1"), adapter("", "1-2"), unsure},
		"serial number not read, same place": {adapter("A", "1-1"), adapter("", "1-1"), same},
		"serial number not read, moved":      {adapter("A", "1-1"), adapter("", "1-2"), unsure},
		"shared serial number, moved":        {twin, adapter("A", "1-2"), unsure},
		"shared serial number, same place":   {twin, adapter("A", "1-1"), same},
		"other make in its place":            {adapter("A", "1-1"), other, another},
		"other port of the adapter":          {adapter("A", "1-1"), part, another},
		"nothing but the make known":         {adapter("", ""), adapter("", ""), unsure},
	} {
		if got := c.id.compare(c.now); got != c.want {
			t.Errorf("%s: %d, want %d", name, got, c.want)
		}
	}
}

func TestFind(t *testing.T) {
	shared := adapter("A", "1-1")
	shared.Shared = true
	for name, c := range map[string]struct {
		id    Identity
		ports []usbPort
		path  string
		err   error
	}{
		"nothing plugged in":         {adapter("A", "1-1"), nil, "", ErrNoPort},
		"under a new name":           {adapter("A", "1-1"), []usbPort{at("/dev/ttyUSB1", adapter("A", "1-1"))}, "/dev/ttyUSB1", nil},
		"in another place":           {adapter("A", "1-1"), []usbPort{at("/dev/ttyUSB0", adapter("B", "1-1")), at("/dev/ttyUSB1", adapter("A", "1-2"))}, "/dev/ttyUSB1", nil},
		"only another one":           {adapter("A", "1-1"), []usbPort{at("/dev/ttyUSB0", adapter("B", "1-1"))}, "", ErrNoPort},
		"twins, one in its place":    {adapter("", "1-1"), []usbPort{at("/dev/ttyUSB1", adapter("", "1-2")), at("/dev/ttyUSB2", adapter("", "1-1"))}, "/dev/ttyUSB2", nil},
		"twins, none in its place":   {adapter("", "1-1"), []usbPort{at("/dev/ttyUSB1", adapter("", "1-2")), at("/dev/ttyUSB2", adapter("", "1-3"))}, "", ErrCannotTell},
		"one twin, not its place":    {adapter("", "1-1"), []usbPort{at("/dev/ttyUSB1", adapter("", "1-2"))}, "", ErrCannotTell},
		"serial number twice":        {adapter("A", "1-1"), []usbPort{at("/dev/ttyUSB1", adapter("A", "1-2")), at("/dev/ttyUSB2", adapter("A", "1-3"))}, "", ErrCannotTell},
		"serial number no own":       {shared, []usbPort{at("/dev/ttyUSB1", adapter("A", "1-2"))}, "", ErrCannotTell},
		"copied serial number":       {adapter("A", "1-1"), []usbPort{at("/dev/ttyUSB1", adapter("A", "1-2")), at("/dev/ttyUSB2", adapter("A", "1-1"))}, "/dev/ttyUSB2", nil},
		"serial twice, one in place": {shared, []usbPort{at("/dev/ttyUSB1", adapter("A", "1-2")), at("/dev/ttyUSB2", adapter("A", "1-1"))}, "/dev/ttyUSB2", nil},
	} {
		p, err := find(c.id, c.ports)
		if p.path != c.path || !errors.Is(err, c.err) {
			t.Errorf("%s: %q, %v; want %q, %v", name, p.path, err, c.path, c.err)
		}
		if errors.Is(err, ErrCannotTell) && !strings.Contains(err.Error(), "/dev/ttyUSB1") {
			t.Errorf("%s: %v; want the paths", name, err)
		}
	}
}

func TestFind_OnThisComputer(t *testing.T) {
	_, err := Find(Identity{Vendor: "FFFF", Product: "FFFF", Serial: "no such adapter"})
	if err == nil {
		t.Error("found an adapter that does not exist")
	}
}

func TestIdentity_String(t *testing.T) {
	got := adapter("A5\x1b[2J", "1-1.4").String()
	if want := "USB device 1A86:7523, serial number A5?[2J, plugged in at 1-1.4"; got != want {
		t.Errorf("String = %q, want %q", got, want)
	}
	if strings.ContainsFunc(got, unicode.IsControl) {
		t.Errorf("control character in %q", got)
	}
}
