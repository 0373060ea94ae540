//go:build !linux && !windows

package link

// usbNames knows nothing here: on macOS the library needs cgo for it.
func usbNames() map[string]string { return nil }
