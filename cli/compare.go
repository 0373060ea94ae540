package cli

import (
	"judder/obd/check"
)

type compareCommand struct {
	Before string `arg:"" placeholder:"BEFORE" help:"A check kept by judder check --out."`
	After  string `arg:"" placeholder:"AFTER" help:"A later check of the same car."`
	JSON   bool   `help:"Print the result as JSON."`
}

func (c *compareCommand) Run(e *env) error {
	before, err := check.Load(c.Before)
	if err != nil {
		return err
	}
	after, err := check.Load(c.After)
	if err != nil {
		return err
	}
	result := check.Compare(before, after)
	result.Before.File, result.After.File = c.Before, c.After
	if after.Time.Before(before.Time) {
		e.say("%s was made before %s; the older one is expected first", c.After, c.Before)
	}
	if c.JSON {
		return writeJSON(e.out, result)
	}
	return result.WriteText(e.out)
}
