package cli

import (
	"fmt"
	"os"

	"github.com/judder-obd/judder/pids/vehicle"
)

type driveCommand struct {
	portFlags
	sessionFlags
	Out     string `placeholder:"FILE" help:"Where to record; never overwrites. Default: a file here, named by date and time."`
	Profile string `placeholder:"FILE" help:"Vehicle profile (TOML): what this car offers beyond the standard."`
	VIN     bool   `help:"Keep the vehicle identification number in the recording."`
}

func (c *driveCommand) Run(e *env) error {
	if err := c.check(); err != nil {
		return err
	}
	if c.Out == "" {
		c.Out = e.dated("judder-", ".jsonl")
	}
	profile, text, err := loadProfile(c.Profile)
	if err != nil {
		return err
	}
	l := live{flags: &c.sessionFlags, out: c.Out, port: c.Port, keepVIN: c.VIN, bauds: e.speeds(c.Port, c.Baud), profile: profile, profileText: text,
		open: e.opener(c.Port)}
	return l.run(e)
}

// loadProfile reads a vehicle profile, and its text for the recording.
func loadProfile(path string) (*vehicle.Profile, string, error) {
	if path == "" {
		return nil, "", nil
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, "", fmt.Errorf("vehicle profile: %w; check the file's name and permissions, or leave --profile out", err)
	}
	profile, err := vehicle.ParseProfile(path, text)
	return profile, string(text), err
}
