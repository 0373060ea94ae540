package cli

import (
	"fmt"
	"text/tabwriter"

	"github.com/judder-obd/judder/obd/link"
)

type portsCommand struct{}

func (portsCommand) Run(e *env) error {
	ports, err := link.Ports()
	if err != nil {
		return err
	}
	return printPorts(e, ports)
}

// printPorts prints a port a line: path, what it is, and its latency timer where that is
// known, in columns. What to do about a long timer goes to the people's side.
func printPorts(e *env, ports []link.Port) error {
	if len(ports) == 0 {
		e.say("no serial port found; plug the adapter in, or give a path or tcp://host:port to judder drive --port")
	}
	w := tabwriter.NewWriter(e.out, 0, 0, 2, ' ', 0)
	for _, p := range ports {
		timer := ""
		if p.Timer.Wait > 0 {
			timer = fmt.Sprintf("\tlatency timer %d ms", p.Timer.Wait.Milliseconds())
		}
		_, _ = fmt.Fprintf(w, "%s\t%s%s\n", p.Path, p.Description, timer) // Flush reports it
	}
	if err := w.Flush(); err != nil {
		return err
	}
	for _, p := range ports {
		if advice := p.Timer.Advice(); advice != "" {
			e.say("%s: %s", p.Path, advice)
		}
	}
	return nil
}
