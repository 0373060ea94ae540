//go:build unix

package link

import (
	"path/filepath"
	"slices"
	"testing"
)

// plugIn puts an adapter into a tree in the kernel's way (Documentation/ABI/stable/sysfs-bus-usb
// and testing/sysfs-bus-usb name the files): device at the location, one interface, and a
// usb-serial port when the tty is not of the modem class.
func plugIn(t *testing.T, root, tty, location string, files map[string]string) {
	t.Helper()
	device := filepath.Join(root, "devices", "pci0000:00", "usb1", location)
	for name, text := range files {
		put(t, text+"\n", device, name)
	}
	host := filepath.Join(device, location+":1.0")
	put(t, "00\n", host, "bInterfaceNumber")
	bus := "usb"
	if tty[:6] == "ttyUSB" {
		host, bus = filepath.Join(host, tty), "usb-serial"
		put(t, "0\n", host, "port_number")
	}
	put(t, "", root, "bus", bus, "uevent")
	point(t, filepath.Join(root, "bus", bus), host, "subsystem")
	point(t, host, host, "tty", tty, "device")
	point(t, filepath.Join(host, "tty", tty), root, "class", "tty", tty)
}

func TestUSBPorts_Tree(t *testing.T) {
	root, err := filepath.EvalSymlinks(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	put(t, "1d6b\n", root, "devices", "pci0000:00", "usb1", "idVendor") // the root hub, above all
	plugIn(t, root, "ttyUSB0", "1-1.4", map[string]string{"idVendor": "0403", "idProduct": "6001", "serial": "A5000abc"})
	plugIn(t, root, "ttyUSB1", "1-2", map[string]string{"idVendor": "1a86", "idProduct": "7523"})
	plugIn(t, root, "ttyACM0", "1-3", map[string]string{"idVendor": "04d8", "idProduct": "000a", "serial": ""})
	put(t, "", root, "class", "tty", "console", "uevent")
	// A Bluetooth port stands on the radio's USB device, which is not the adapter.
	radio := filepath.Join(root, "devices", "pci0000:00", "usb1", "1-5")
	put(t, "8087\n", radio, "idVendor")
	put(t, "", root, "bus", "bluetooth", "uevent")
	point(t, filepath.Join(root, "bus", "bluetooth"), radio, "hci0", "subsystem")
	point(t, filepath.Join(radio, "hci0"), root, "class", "tty", "rfcomm0", "device")

	got, err := tree(root).usbPorts()
	if err != nil {
		t.Fatal(err)
	}
	want := []usbPort{
		{"/dev/ttyACM0", "ttyACM0", Identity{Vendor: "04D8", Product: "000A", Location: "1-3", Part: "00."}},
		{"/dev/ttyUSB0", "ttyUSB0", Identity{Vendor: "0403", Product: "6001", Serial: "A5000abc", Location: "1-1.4", Part: "00.0"}},
		{"/dev/ttyUSB1", "ttyUSB1", Identity{Vendor: "1A86", Product: "7523", Location: "1-2", Part: "00.0"}},
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%+v\nwant\n%+v", got, want)
	}
}

func TestUSBPorts_NoTree(t *testing.T) {
	if ports, err := tree(t.TempDir()).usbPorts(); err == nil || ports != nil {
		t.Errorf("no tree: %v, %v; want an error", ports, err)
	}
}

// TestIdentify_NotUSB runs against this computer: a pseudo-terminal is no adapter.
func TestIdentify_NotUSB(t *testing.T) {
	for _, path := range []string{"", "/dev/null", "/dev/no-such-port", "tcp://192.168.0.10:35000"} {
		if id, ok := Identify(path); ok || id != (Identity{}) {
			t.Errorf("Identify(%q) = %v", path, id)
		}
	}
}
