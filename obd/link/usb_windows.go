package link

import (
	"strings"

	"go.bug.st/serial/enumerator"
)

// usb is what the device manager reports. Where an adapter is plugged in is not among it, but
// Windows keeps the name of a port for an adapter without serial number by that place.
var usb = usbBus{ports: windowsPorts, name: comName}

func windowsPorts() ([]usbPort, error) {
	list, err := enumerator.GetDetailedPortsList()
	if err != nil {
		return nil, err
	}
	var ports []usbPort
	for _, p := range list {
		if p.IsUSB {
			ports = append(ports, usbPort{path: p.Name, name: comName(p.Name), id: Identity{
				Vendor: strings.ToUpper(p.VID), Product: strings.ToUpper(p.PID), Serial: p.SerialNumber,
			}})
		}
	}
	return ports, nil
}

// comName is COM12 of COM12, com12 and \\.\COM12.
func comName(path string) string {
	return strings.ToUpper(strings.TrimPrefix(path, `\\.\`))
}
