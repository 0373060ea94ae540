package cli

import (
	"fmt"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/tui"
)

type reviewCommand struct {
	Files []string `arg:"" name:"FILE" help:"Recordings."`
	JSON  bool     `help:"One JSON object per recording, one per line."`
}

func (c *reviewCommand) Run(e *env) error {
	failed := 0
	var last error
	for _, file := range c.Files {
		r, err := session.Review(file)
		if err != nil {
			failed, last = failed+1, err
			if len(c.Files) > 1 {
				e.say("%v", err)
			}
			continue
		}
		if err := printResult(e, file, &r, c.JSON); err != nil {
			return err
		}
	}
	switch {
	case failed == 1 && len(c.Files) == 1:
		return last
	case failed > 0:
		return fmt.Errorf("%d of %d files could not be reviewed", failed, len(c.Files))
	}
	return nil
}

func printResult(e *env, file string, r *session.Result, asJSON bool) error {
	if asJSON {
		return writeJSON(e.out, reportOf(file, r))
	}
	return printText(e.out, file, r, tui.TextWidth(e.raw, prose.PageWidth))
}
