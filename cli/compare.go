package cli

import (
	"encoding/json"
	"fmt"
	"os"

	"judder/obd/check"
)

type compareCommand struct {
	Before string `arg:"" placeholder:"BEFORE" help:"A check kept by judder check --out."`
	After  string `arg:"" placeholder:"AFTER" help:"A later check of the same car."`
	JSON   bool   `help:"Print the result as JSON."`
}

func (c *compareCommand) Run(e *env) error {
	before, err := loadReport(c.Before)
	if err != nil {
		return err
	}
	after, err := loadReport(c.After)
	if err != nil {
		return err
	}
	result := check.Compare(before, after)
	if c.JSON {
		return writeJSON(e.out, result)
	}
	return result.WriteText(e.out)
}

// loadReport reads a check kept earlier.
func loadReport(path string) (*check.Report, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	var r check.Report
	if err := json.Unmarshal(text, &r); err != nil {
		return nil, fmt.Errorf("%s is no check kept by judder check --out: %w", path, err)
	}
	if r.ECUs == nil {
		return nil, fmt.Errorf("%s holds no computers; it is no check kept by judder check --out", path)
	}
	return &r, nil
}
