package cli

import (
	"context"

	"github.com/judder-obd/judder/cli/remember"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/link"
)

// portFlags say which port the adapter is at.
type portFlags struct {
	Port string `placeholder:"PORT" env:"JUDDER_PORT" help:"A serial port (judder ports lists them), or tcp://host:port. Default: JUDDER_PORT, else the one USB adapter, else the port used last."`
	Baud int    `placeholder:"N" help:"Serial speed. Default: 38400, 115200, 9600, 230400 and 500000 are tried."`
}

// bauds are tried in this order when none is given: the adapter family's default first
// (ELM327 data sheet, p. 9), then the speeds that adapters are sold with (common practice,
// no source).
var bauds = []int{38400, 115200, 9600, 230400, 500000}

// opener gives what opens a port as often as it is called.
type opener func(port string) func(ctx context.Context, baud int) (elm.Link, error)

// computer is what a command uses of the computer it runs on; tests have another in its place.
type computer struct {
	open             opener
	ports            func() ([]link.Port, error)
	missing          func(port string) error // that the port is not there; nil when it may be
	loadRemembered   func() (remember.Settings, error)
	changeRemembered func(func(*remember.Settings)) error // of what is remembered
}

var thisComputer = computer{open: openPort, ports: link.Ports, missing: link.Missing, loadRemembered: remember.Load, changeRemembered: remember.Change}

// openPort opens real ports, under another path when the same adapter is plugged in elsewhere.
func openPort(port string) func(context.Context, int) (elm.Link, error) {
	r := link.NewReopener(port)
	return func(ctx context.Context, baud int) (elm.Link, error) { return r.Open(ctx, baud) }
}

// opener is what opens a port; it says beforehand what the port's driver costs.
func (e *env) opener(port string) func(context.Context, int) (elm.Link, error) {
	if timer, ok := link.Latency(port); ok && timer.Advice() != "" {
		e.say("%s: %s", port, timer.Advice())
	}
	return e.open(port)
}

// speeds are the serial speeds to try; it says so when one is given for nothing.
func (e *env) speeds(port string, baud int) []int {
	if baud > 0 && link.OnNetwork(port) {
		e.say("--baud %d is ignored: a network address has no serial speed", baud)
	}
	return speeds(port, baud)
}

// speeds are the serial speeds to try: the one that was given, or all; a network has none.
func speeds(port string, baud int) []int {
	switch {
	case link.OnNetwork(port):
		return []int{0}
	case baud > 0:
		return []int{baud}
	}
	return bauds
}
