package cli

import (
	"fmt"
	"slices"
	"strings"

	"github.com/judder-obd/judder/cli/remember"
	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/prose"
)

// choose settles which port to use: the one that was given, or the only one that can be meant.
// A port that is not there is an error here, before a screen or a file is opened.
func (f *portFlags) choose(e *env) error {
	if f.Port == "" {
		ports, err := e.ports()
		if err != nil {
			return fmt.Errorf("%w; give the adapter's port with --port", err)
		}
		port, why, err := choosePort(ports, e.settings().Port)
		if err != nil {
			return err
		}
		f.Port = port
		e.say("using %s: %s", port, why)
	}
	if err := refusePort(f.Port); err != nil {
		return err
	}
	return e.missing(f.Port)
}

// choosePort picks the port of the adapter, and says why that one: the port used last while it is
// there, or the only USB adapter. What is plugged in wins over an address used last.
func choosePort(ports []link.Port, last string) (port, why string, err error) {
	usb := usbAdapters(ports)
	there := slices.ContainsFunc(ports, func(p link.Port) bool { return p.Path == last })
	switch {
	case last != "" && there:
		return last, "the port used last", nil
	case len(usb) == 1:
		return usb[0].Path, "the only USB adapter (" + usb[0].Description + ")", nil
	case len(usb) == 0 && link.OnNetwork(last):
		return last, "the address used last", nil
	}
	return "", "", usageError(noChoice(ports, usb, last))
}

// usbAdapters are the ports that a USB adapter gives, each adapter once: macOS lists a port for
// calls in (tty) beside each for calls out (cu).
func usbAdapters(ports []link.Port) (usb []link.Port) {
	for _, p := range ports {
		out := strings.Replace(p.Path, "/dev/tty.", "/dev/cu.", 1)
		twice := out != p.Path && slices.ContainsFunc(ports, func(q link.Port) bool { return q.Path == out })
		if p.USB && !twice {
			usb = append(usb, p)
		}
	}
	return usb
}

// noChoice says why no port can be chosen, what there is, and what to type.
func noChoice(ports, usb []link.Port, last string) string {
	var b strings.Builder
	if len(usb) > 1 {
		fmt.Fprintf(&b, "%d USB adapters found: give the port of the right one\n", len(usb))
		ports = usb
	} else {
		b.WriteString("no USB adapter found: plug it in, or give its port\n")
	}
	for _, p := range ports {
		b.WriteString(strings.TrimRight(fmt.Sprintf("  --port %s   %s", p.Path, p.Description), " ") + "\n")
	}
	if len(usb) == 0 {
		b.WriteString("  --port tcp://192.168.0.10:35000   Wi-Fi, with host and port from the adapter's papers\n")
	}
	if last != "" {
		fmt.Fprintf(&b, "The port used last, %s, is not there.", prose.Clean(last))
	}
	return strings.TrimRight(b.String(), "\n")
}

// settings are what is remembered. A file that cannot be read is said once, and nothing is remembered.
func (e *env) settings() remember.Settings {
	s, err := e.loadRemembered()
	if err != nil {
		e.sayOnce(err)
	}
	return s
}

// remember keeps something for the next command. That it could not be kept stops nothing.
func (e *env) remember(change func(*remember.Settings)) {
	if err := e.changeRemembered(change); err != nil {
		e.sayOnce(err)
	}
}

// rememberPort keeps a port that an adapter answered at.
func (e *env) rememberPort(port string) {
	e.remember(func(s *remember.Settings) { s.Port = port })
}

// bell reports whether the bell rings: as given, which is remembered, or as chosen last.
func (e *env) bell(given *bool) bool {
	if given != nil {
		e.remember(func(s *remember.Settings) { s.Bell = given })
		return *given
	}
	last := e.settings().Bell
	return last == nil || *last
}
