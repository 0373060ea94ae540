package link

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/judder-obd/judder/prose"

	"go.bug.st/serial"
)

// Port is a serial port of this computer.
type Port struct {
	Path        string // to give to Open
	Description string // what is known of it: the USB device's name, or the kind by its path; may be empty
	USB         bool   // an adapter on USB gives it, by what the system says or by the name of its path
	// Timer is the latency timer of a USB port; zero when not known.
	Timer LatencyTimer
}

// kinds says what a port is by the beginning of its name. Names of the Linux kernel and
// of macOS, common practice.
var kinds = []struct{ prefix, text string }{
	{"ttyUSB", "USB serial adapter"},
	{"ttyACM", "USB modem device"},
	{"rfcomm", "Bluetooth"},
	{"ttyS", "built-in serial port"},
	{"ttyAMA", "built-in serial port"},
	{"cu.usb", "USB serial adapter"},
	{"tty.usb", "USB serial adapter"},
	{"cu.Bluetooth", "Bluetooth"},
	{"tty.Bluetooth", "Bluetooth"},
}

// Ports lists the serial ports of this computer, most likely adapters first.
// Pseudo-terminals are not listed; Open takes their paths all the same.
func Ports() ([]Port, error) {
	paths, err := serial.GetPortsList()
	if err != nil {
		return nil, fmt.Errorf("listing the serial ports: %w", err)
	}
	details := usbNames()
	ports := make([]Port, 0, len(paths))
	for _, path := range paths {
		text, onUSB := details[path]
		if text == "" {
			text = kindOf(path)
			onUSB = strings.HasPrefix(text, "USB")
		}
		timer, _ := Latency(path)
		ports = append(ports, Port{Path: path, Description: prose.Clean(text), USB: onUSB, Timer: timer})
	}
	slices.SortStableFunc(ports, func(a, b Port) int {
		return cmp.Or(cmp.Compare(rank(a.Path), rank(b.Path)), cmp.Compare(a.Path, b.Path))
	})
	return ports, nil
}

// Missing reports a serial port that is not there, as the error that Open would give: an
// *OpenError of kind ErrNoPort. It is nil for an address on a network, and where only opening
// can show it (Windows).
func Missing(target string) error {
	if OnNetwork(target) || runtime.GOOS == "windows" {
		return nil
	}
	if _, err := os.Stat(target); errors.Is(err, fs.ErrNotExist) {
		return newOpenError(target, 0, fmt.Errorf("%w (%w)", ErrNoPort, errors.Unwrap(err)))
	}
	return nil
}

// kindOf says what a port is by its name, or "".
func kindOf(path string) string {
	if i := rank(path); i < len(kinds) {
		return kinds[i].text
	}
	return ""
}

// rank is the row of kinds that a path belongs to.
func rank(path string) int {
	name := filepath.Base(path)
	for i, k := range kinds {
		if strings.HasPrefix(name, k.prefix) {
			return i
		}
	}
	return len(kinds)
}
