package link

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// tree is the folder where the Linux kernel lists its devices; tests build one of their
// own. On other systems there is none, and nothing is found in it.
type tree string

const sysfs tree = "/sys"

// ttyOf is the kernel's name of a port, through symbolic links such as those under
// /dev/serial/by-id; "" when there is no such path.
func ttyOf(path string) string {
	real, err := filepath.EvalSymlinks(path)
	if err != nil {
		return ""
	}
	return filepath.Base(real)
}

// line is the text in a file of one line; "" when it cannot be read.
func line(elem ...string) string {
	text, err := os.ReadFile(filepath.Join(elem...))
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(text))
}

// number is the decimal number in a file of one line.
func number(file string) (int, bool) {
	n, err := strconv.Atoi(line(file))
	return n, err == nil
}

// usbPorts lists the ttys that stand on a USB device.
func (t tree) usbPorts() ([]usbPort, error) {
	ttys, err := os.ReadDir(filepath.Join(string(t), "class", "tty"))
	if err != nil {
		return nil, err
	}
	var ports []usbPort
	for _, tty := range ttys {
		dir, err := filepath.EvalSymlinks(filepath.Join(string(t), "class", "tty", tty.Name(), "device"))
		if err != nil {
			continue // a tty without a device: a console, a pseudo-terminal
		}
		if id, ok := identityAt(dir); ok {
			ports = append(ports, usbPort{path: "/dev/" + tty.Name(), name: tty.Name(), id: id})
		}
	}
	return ports, nil
}

// identityAt reads the identity of the USB device that the tty's device in dir belongs to.
// The kernel's folders lie in each other: device 1-1.4, its interface 1-1.4:1.0, and with
// most adapters the port of that, ttyUSB0.
func identityAt(dir string) (id Identity, ok bool) {
	bus, err := filepath.EvalSymlinks(filepath.Join(dir, "subsystem"))
	if err != nil {
		return id, false
	}
	// Others may stand on USB all the same: a Bluetooth port, whose adapter is at its far end.
	if name := filepath.Base(bus); name != "usb-serial" && name != "usb" {
		return id, false
	}
	port := line(dir, "port_number")
	for ; dir != filepath.Dir(dir); dir = filepath.Dir(dir) {
		if n := line(dir, "bInterfaceNumber"); n != "" {
			id.Part = n + "." + port
		}
		if vendor := line(dir, "idVendor"); vendor != "" {
			id.Vendor, id.Product = strings.ToUpper(vendor), strings.ToUpper(line(dir, "idProduct"))
			id.Serial, id.Location = line(dir, "serial"), filepath.Base(dir)
			return id, true
		}
	}
	return Identity{}, false
}
