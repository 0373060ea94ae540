package cli

import (
	"fmt"
	"net"
	"strings"

	"github.com/alecthomas/kong"
)

// refuse says what is wrong with a flag's value that parses but makes no sense, in any command.
func refuse(path []*kong.Path) error {
	for _, p := range path {
		if p.Flag == nil {
			continue
		}
		switch p.Flag.Name {
		case "baud":
			if baud := p.Flag.Target.Int(); baud <= 0 {
				return usageError(fmt.Sprintf("--baud %d: give the adapter's serial speed, such as 38400 or 115200, or leave --baud out to try the usual ones", baud))
			}
		case "port":
			if err := refusePort(p.Flag.Target.String()); err != nil {
				return err
			}
		}
	}
	return nil
}

// refusePort says how to write a network address that looks like the path of a serial port.
func refusePort(port string) error {
	host, scheme := port, false
	if rest, ok := strings.CutPrefix(strings.ToLower(port), "tcp:"); ok && !strings.HasPrefix(rest, "//") {
		host, scheme = strings.TrimLeft(rest, "/"), true
	}
	bare := net.ParseIP(strings.Trim(host, "[]"))
	switch {
	case bare != nil:
		return usageError(fmt.Sprintf("--port %s: write a network address as tcp://%s, with the port number from the adapter's papers", port, net.JoinHostPort(bare.String(), "PORT")))
	case scheme:
		return usageError(fmt.Sprintf("--port %s: write a network address as tcp://%s", port, host))
	}
	return nil
}
