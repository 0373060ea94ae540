package cli

import (
	"fmt"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/tui"
)

type reviewCommand struct {
	complaintFlag
	Files []string `arg:"" name:"FILE" help:"Recordings, or a folder of them; *.jsonl works too."`
	All   bool     `help:"Everything, not only what fits a screen."`
	JSON  bool     `help:"One JSON object per recording, one per line."`
}

func (c *reviewCommand) Run(e *env) error {
	files, many, err := expand(c.Files)
	if err != nil {
		return err
	}
	if err := c.check(); err != nil {
		return err
	}
	failed := 0
	var last error
	err = reviewAll(files, &c.complaintFlag, func(r *reviewed) error {
		if r.err == nil {
			return printResult(e, r.file.path, &r.result, c.JSON, c.All)
		}
		if r.noDrive() {
			e.say("%v; passed over", r.err)
			return nil
		}
		failed, last = failed+1, r.err
		if many {
			e.say("%v", r.err)
			if c.JSON {
				return writeJSON(e.out, failedRow{r.file.path, r.err.Error()})
			}
		}
		return nil
	})
	switch {
	case err != nil:
		return err
	case failed > 0 && !many:
		return last
	case failed > 0:
		return fmt.Errorf("%d of %d files could not be reviewed", failed, len(files))
	}
	return nil
}

func printResult(e *env, file string, r *session.Result, asJSON, all bool) error {
	if asJSON {
		return writeJSON(e.out, reportOf(file, r))
	}
	return printText(e.out, file, r, tui.TextWidth(e.raw, prose.PageWidth), all)
}
