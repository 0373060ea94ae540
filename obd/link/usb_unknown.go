//go:build !linux && !windows

package link

// usb knows nothing here: on macOS the library needs cgo for it. macOS itself puts the
// serial number, or where the adapter is plugged in, into the name of the port (common
// practice), so that a replugged adapter has its old path.
var usb = usbBus{
	ports: func() ([]usbPort, error) { return nil, nil },
	name:  func(string) string { return "" },
}
