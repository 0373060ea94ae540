package cli

import (
	"context"

	"judder/obd"
	"judder/obd/link"
	"judder/obd/simcar"
	"judder/obd/simcar/drivetrain"
)

type demoCommand struct {
	sessionFlags
	Seed uint64 `default:"1" help:"Another seed, another drive."`
	Out  string `placeholder:"FILE" help:"Record the demo; never overwrites."`
}

// Run drives a simulated car. Nothing in it is measured on a real one.
func (c *demoCommand) Run(e *env) error {
	if err := c.check(); err != nil {
		return err
	}
	sim := simcar.New(simcar.FromDrive(drivetrain.New(demoDrive(c.Seed))), simcar.Realistic()...)
	l := live{flags: &c.sessionFlags, out: c.Out, port: "demo (simulated car)", bauds: []int{0},
		open: func(ctx context.Context, _ int) (obd.Link, error) {
			return link.Over(sim.Pipe(ctx), "demo"), nil
		}}
	return l.run(e)
}
