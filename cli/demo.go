package cli

import (
	"context"
	"time"

	"github.com/judder-obd/judder/obd/elm"

	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/simcar"
	"github.com/judder-obd/judder/simcar/drivetrain"
)

type demoCommand struct {
	sessionFlags
	Seed uint64 `default:"1" placeholder:"N" help:"Another number gives another drive."`
	Out  string `placeholder:"FILE" help:"Record the demo; never overwrites."`
}

// demoLength is how long the scripted road test is; the car drives on after it.
const demoLength = 20 * time.Minute

// Run drives a simulated car. Nothing in it is measured on a real one.
func (c *demoCommand) Run(e *env) error {
	if err := c.check(); err != nil {
		return err
	}
	trip := drivetrain.New(drivetrain.Spec{Seed: c.Seed, Length: demoLength, Script: drivetrain.RoadTest})
	sim := simcar.New(simcar.FromDrive(trip), simcar.Realistic()...)
	l := live{flags: &c.sessionFlags, out: c.Out, port: "demo (simulated car)", bauds: []int{0},
		open: func(ctx context.Context, _ int) (elm.Link, error) {
			return link.Over(sim.Pipe(ctx), "demo"), nil
		}}
	return l.run(e)
}
