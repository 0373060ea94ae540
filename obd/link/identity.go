package link

import (
	"errors"
	"fmt"
	"strings"

	"github.com/judder-obd/judder/prose"
)

// Identity is how one USB serial adapter is known from another, as the system read it from
// the adapter when it was plugged in.
type Identity struct {
	Vendor, Product string // USB ids, four hexadecimal digits in upper case
	Serial          string // serial number; "" when the adapter has none, as many have not
	Location        string // where it is plugged in: the bus and the ports of the hubs on the way, "1-1.4"; "" when not known
	Part            string // which port of an adapter with several; "" when not known
	Shared          bool   // another port had the same ids and serial number when this was read, so they show nothing
}

// String is for messages: "USB device 0403:6001, serial number A12345".
func (id Identity) String() string {
	text := fmt.Sprintf("USB device %s:%s", id.Vendor, id.Product)
	if id.Serial != "" {
		text += ", serial number " + id.Serial
	}
	if id.Location != "" {
		text += ", plugged in at " + id.Location
	}
	return prose.Clean(text)
}

// ErrCannotTell is the kind of error when adapters are there that may or may not be the one
// looked for.
var ErrCannotTell = errors.New("cannot tell whether it is the same adapter")

// verdict is whether a port leads to an adapter known from before.
type verdict int

const (
	another verdict = iota
	unsure
	same
)

// compare says whether the adapter seen now is the one of id. The serial number decides
// when it is the adapter's alone, else the place where it is plugged in; two adapters
// without a serial number that take turns in one place cannot be told apart.
func (id Identity) compare(now Identity) verdict {
	switch {
	case id.Vendor != now.Vendor, id.Product != now.Product, id.Part != now.Part:
		return another
	case id.Serial != "" && now.Serial != "" && id.Serial != now.Serial:
		return another
	case id.Location != "" && id.Location == now.Location:
		return same // even when the serial number could not be read this time
	case id.Serial != "" && id.Serial == now.Serial && !id.Shared:
		return same
	}
	return unsure
}

// usbPort is a serial port that an adapter on USB gives.
type usbPort struct {
	path string // to give to Open
	name string // the system's name of it
	id   Identity
}

// usbBus is what the system knows of the USB serial ports; tests put their own in its place.
type usbBus struct {
	ports func() ([]usbPort, error)
	name  func(path string) string // the system's name of a port; "" when it is not there
}

// Identify says which adapter gives the port at path, which may be a symbolic link; false
// when it is not on USB or when the system does not say (macOS).
func Identify(path string) (Identity, bool) {
	ports, err := usb.ports()
	if err != nil {
		return Identity{}, false
	}
	p, ok := named(ports, usb.name(path))
	p.id.Shared = ok && shared(p, ports)
	return p.id, ok
}

// Find is the path at which the adapter is plugged in now. Errors: ErrNoPort when it is
// not, ErrCannotTell, with the paths, when only ports are there that may be its own or
// those of an adapter of the same make.
func Find(id Identity) (path string, err error) {
	ports, err := usb.ports()
	if err != nil {
		return "", fmt.Errorf("listing the USB serial ports: %w", err)
	}
	p, err := find(id, ports)
	return p.path, err
}

func find(id Identity, ports []usbPort) (usbPort, error) {
	var sure, maybe []usbPort
	for _, p := range ports {
		switch id.compare(p.id) {
		case same:
			if id.Location != "" && id.Location == p.id.Location {
				return p, nil // no two are in one place
			}
			sure = append(sure, p)
		case unsure:
			maybe = append(maybe, p)
		case another:
		}
	}
	if len(sure) == 1 {
		return sure[0], nil
	}
	maybe = append(sure, maybe...)
	if len(maybe) == 0 {
		return usbPort{}, ErrNoPort
	}
	paths := make([]string, len(maybe))
	for i, p := range maybe {
		paths[i] = p.path
	}
	return usbPort{}, fmt.Errorf("%w: %s", ErrCannotTell, prose.Clean(strings.Join(paths, ", ")))
}

// named is the port of that name.
func named(ports []usbPort, name string) (usbPort, bool) {
	for _, p := range ports {
		if p.name == name && name != "" {
			return p, true
		}
	}
	return usbPort{}, false
}

// shared reports whether another port cannot be told from p but by where it is plugged in.
func shared(p usbPort, ports []usbPort) bool {
	for _, q := range ports {
		if q.name != p.name && q.id.kind() == p.id.kind() {
			return true
		}
	}
	return false
}

// kind is the identity without the place.
func (id Identity) kind() Identity {
	id.Location, id.Shared = "", false
	return id
}
