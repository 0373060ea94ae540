//go:build linux || windows

package link

import (
	"fmt"

	"go.bug.st/serial/enumerator"
)

// usbNames says for each USB port what the device calls itself; a port without such a
// name is left out. Failure to find out is no failure: the names are a convenience.
func usbNames() map[string]string {
	list, err := enumerator.GetDetailedPortsList()
	if err != nil {
		return nil
	}
	names := make(map[string]string, len(list))
	for _, p := range list {
		switch {
		case p.Product != "":
			names[p.Name] = p.Product
		case p.IsUSB:
			names[p.Name] = fmt.Sprintf("USB device %s:%s", p.VID, p.PID)
		}
	}
	return names
}
