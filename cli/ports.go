package cli

import (
	"fmt"

	"judder/obd/link"
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
// known, with tabs between. What to do about a long timer goes to the people's side.
func printPorts(e *env, ports []link.Port) error {
	if len(ports) == 0 {
		e.say("no serial port found; plug the adapter in, or give a path or tcp://host:port to judder drive --port")
	}
	for _, p := range ports {
		timer := ""
		if p.Timer.Wait > 0 {
			timer = fmt.Sprintf("\tlatency timer %d ms", p.Timer.Wait.Milliseconds())
		}
		if _, err := fmt.Fprintf(e.out, "%s\t%s%s\n", p.Path, p.Description, timer); err != nil {
			return err
		}
	}
	for _, p := range ports {
		if advice := p.Timer.Advice(); advice != "" {
			e.say("%s: %s", p.Path, advice)
		}
	}
	return nil
}
