package cli

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/judder-obd/judder/cli/remember"
	"github.com/judder-obd/judder/pids/vehicle"
)

type driveCommand struct {
	portFlags
	sessionFlags
	caseFlags
	Out     string `placeholder:"FILE" help:"Where to record, a file or a folder; never overwrites. Default: a file named by date and time, in the folder given last, else here."`
	Profile string `placeholder:"FILE" help:"Vehicle profile (TOML): what this car offers beyond the standard. Default: the one used last; none for none."`
	VIN     bool   `help:"Keep the vehicle identification number in the recording."`
}

func (c *driveCommand) Run(e *env) error {
	if err := c.check(); err != nil {
		return err
	}
	if err := c.choose(e); err != nil {
		return err
	}
	j, err := c.join(e)
	if err != nil {
		return err
	}
	if j != nil && !c.given() {
		c.box = j.complaint
	}
	folder, err := c.place(e, j)
	if err != nil {
		return err
	}
	c.Profile = e.profile(c.Profile)
	profile, text, err := loadProfile(c.Profile)
	if err != nil {
		return err
	}
	e.remember(func(s *remember.Settings) { s.Profile, s.Folder = absolute(c.Profile), absolute(folder) })
	l := live{flags: &c.sessionFlags, out: c.Out, port: c.Port, keepVIN: c.VIN, bauds: e.speeds(c.Port, c.Baud), profile: profile, profileText: text,
		open: e.opener(c.Port), answered: func() { e.rememberPort(c.Port) }}
	err = l.run(e)
	if j != nil {
		err = errors.Join(err, j.take(c.Out))
	}
	return err
}

// place settles the file of the recording, and returns the folder for this drive and later ones;
// "" is the current one.
func (c *driveCommand) place(e *env, j *joined) (folder string, err error) {
	info, err := os.Stat(c.Out)
	switch {
	case c.Out == "" && j != nil:
		c.Out, err = j.place("drives", "judder-", ".jsonl")
		return e.settings().Folder, err
	case c.Out == "":
		folder = e.settings().Folder
		if _, err := os.Stat(folder); folder != "" && err != nil {
			e.say("the folder for recordings is not there (%v); recording here", err)
			folder = ""
		}
	case err == nil && info.IsDir():
		folder = c.Out
	default: // a file: later drives go where they went before
		return e.settings().Folder, nil
	}
	c.Out = e.dated(filepath.Join(folder, "judder-"), ".jsonl")
	return folder, nil
}

// absolute is a path as it can be found from anywhere; "" stays.
func absolute(path string) string {
	if path == "" {
		return ""
	}
	whole, err := filepath.Abs(path)
	if err != nil {
		return path
	}
	return whole
}

// noProfile is what is typed to drive without the profile used last.
const noProfile = "none"

// profile is the path of the profile to use: the one given, or the one used last. It is said, for
// it may be that of another car.
func (e *env) profile(given string) string {
	last := e.settings().Profile
	switch {
	case given == noProfile:
		return ""
	case given != "" || last == "":
		return given
	}
	if _, err := os.Stat(last); err != nil {
		e.say("the profile used last is not there (%v); going on without", err)
		return ""
	}
	e.say("vehicle profile %s, as used last; for another car give --profile FILE or --profile none", last)
	return last
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
