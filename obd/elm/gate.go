package elm

import (
	"fmt"
	"io"
	"strings"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/prose"
)

// RefusedError says that the gate let a command not pass, and why.
type RefusedError struct {
	Command string // as it would have been sent; control characters replaced
	Why     string
}

func (e *RefusedError) Error() string {
	return fmt.Sprintf("not sent to the car: %q: %s", e.Command, e.Why)
}

// readServices are the services that read and change nothing in the car. All others are
// refused; among them 04 and 14 (clear codes), 08 and 2F (control of outputs), 2E (write),
// 31 (routines), 10 and 11 (sessions, reset).
var readServices = [256]bool{
	0x01: true, // current data (SAE J1979)
	0x02: true, // freeze frame
	0x03: true, // stored codes
	0x06: true, // test results
	0x07: true, // pending codes
	0x09: true, // vehicle information
	0x0A: true, // permanent codes
	0x19: true, // read trouble code information (ISO 14229-1)
	0x22: true, // read data by identifier
	0x3E: true, // tester present
}

// adapterCommands are the adapter's own commands that may be sent: none writes into its
// memory, none sends anything to the car by itself. A '#' stands for one hex digit.
//
// Left out on purpose: PP (writes parameters), SD and @3 (write), CV (calibrates), SP (the
// adapter keeps it; TP does the same without), WM (a message to the car at intervals), MR
// and MT, MA (Terminal.Monitor alone sends it, where it transmits nothing), CSM0 (acknowledges
// frames while it listens), CAF0 (with formatting off a request's first byte is its length: 0104
// would be service 04, which clears codes).
var adapterCommands = []string{
	"Z", "WS", "D", "I", "@1", "@2", "RV",
	"E0", "E1", "L0", "L1", "S0", "S1", "H0", "H1", "D0", "D1", "M0",
	"TP#", "TPA#", "DP", "DPN", "PC", "FE", "CSM1",
	"ST##", "AT0", "AT1", "AT2", "AL", "NL",
	"CAF1", "CFC0", "CFC1", "CP##", "CEA", "CEA##",
	"SH###", "SH######", "CRA", "CRA###", "CRA########",
	"CF###", "CF########", "CM###", "CM########", "AR",
	"FCSH###", "FCSH########", "FCSM#",
	"FCSD##", "FCSD####", "FCSD######", "FCSD########", "FCSD##########",
	"KW", "KW0", "KW1", "IB10", "IB96", "SW##",
	"BRD08", "BRD11", "BRD23",
}

// Permit reports as a *RefusedError why a command may not be sent; nil when it may. A command is
// upper case, without spaces and without the carriage return.
func Permit(command string) error {
	if strings.HasPrefix(command, "AT") {
		for _, pattern := range adapterCommands {
			if fits(command[2:], pattern) {
				return nil
			}
		}
		return &RefusedError{prose.Clean(command), "this adapter command is not on the list of those that keep nothing"}
	}
	if !obd.AllHex(command) {
		return &RefusedError{prose.Clean(command), "neither an adapter command nor hex digits"}
	}
	// An odd digit at the end is the number of replies to wait for.
	n := len(command) / 2
	if n == 0 || n > obd.MaxRequestBytes {
		return &RefusedError{prose.Clean(command), fmt.Sprintf("a request has 1 to %d bytes", obd.MaxRequestBytes)}
	}
	if service := obd.HexValue(command[0])<<4 | obd.HexValue(command[1]); !readServices[service] {
		return &RefusedError{prose.Clean(command), fmt.Sprintf("service %02X is not one of those that only read", service)}
	}
	return nil
}

// transmit is the only place that writes to the adapter: whatever reaches the car has
// passed Permit here, and the guard: what a busy adapter makes of the rest of it passes too. A bare
// carriage return is refused as well, because an adapter repeats its last command on it, and that
// may have been another program's.
func transmit(w io.Writer, g *guard, command string, scratch []byte) error {
	if err := Permit(command); err != nil {
		return err
	}
	if !g.ready(command) {
		return notReady(command)
	}
	line := append(append(append(scratch[:0], g.lead(command)...), command...), '\r')
	_, err := w.Write(line)
	return err
}

// notReady refuses a command for the state that the adapter may be in.
func notReady(command string) error {
	return &RefusedError{prose.Clean(command), "the adapter may lose its beginning, and has not shown that it is free"}
}

func fits(command, pattern string) bool {
	if len(command) != len(pattern) {
		return false
	}
	for i := range len(pattern) {
		if pattern[i] == '#' {
			if !obd.IsHex(command[i]) {
				return false
			}
		} else if pattern[i] != command[i] {
			return false
		}
	}
	return true
}
