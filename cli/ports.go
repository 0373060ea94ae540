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
	if len(ports) == 0 {
		e.say("no serial port found; plug the adapter in, or give a path or tcp://host:port to judder drive --port")
	}
	for _, p := range ports {
		if _, err := fmt.Fprintf(e.out, "%s\t%s\n", p.Path, p.Description); err != nil {
			return err
		}
	}
	return nil
}
