package cli

import (
	"errors"
	"io"
	"path/filepath"
	"strings"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/page"
	"github.com/judder-obd/judder/check/read"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/prose"
)

type checkCommand struct {
	carFlags
	caseFlags
	Sweep bool   `help:"Look for more modules at the standard diagnostic addresses (engine off; the risks are shown first)."`
	Out   string `placeholder:"FILE" help:"Where to keep the result as JSON, for judder compare; never overwrites. Default: beside the raw replies."`
	JSON  bool   `help:"Print the result as JSON."`
}

func (c *checkCommand) Run(e *env) (err error) {
	j, err := c.join(e)
	if err != nil {
		return err
	}
	if j != nil && c.Raw == "" && c.Out == "" {
		if c.Raw, err = j.place("checks", "judder-check-", ".jsonl"); err != nil {
			return err
		}
	}
	t, err := c.target(e, c.Out)
	if err != nil {
		return err
	}
	if c.Out == "" {
		c.Out = besideRaw(c.Raw)
	}
	if j != nil {
		t.options.Digest = j.digest
		defer func() { err = errors.Join(err, j.take(c.Raw, c.Out)) }() // once the files are closed
	}
	out, err := check.Reserve(c.Out)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, out.Close()) }()
	if c.Sweep {
		e.say("%s", strings.ReplaceAll(read.SweepRisks, "\n", " "))
		e.say("the sweep begins in %s", prose.Duration(read.SweepGrace))
		e.pause(read.SweepGrace)
	}
	r, err := t.run(func(q *inquiry.Inquiry) (*check.Report, error) {
		if c.Sweep {
			if err := t.sweep(q); e.ctx.Err() != nil {
				return nil, err
			} else if err != nil {
				e.say("%v; the check goes on with what was found", err)
			}
		}
		return read.Run(q, t.options)
	})
	switch {
	case r == nil && e.ctx.Err() != nil:
		return errors.New("interrupted; nothing was read")
	case r == nil:
		return err
	case e.ctx.Err() != nil:
		err = errors.New("interrupted; the page shows what was read until then, and names what was not")
	}
	wrong := out.Write(r)
	if err = errors.Join(err, wrong); wrong == nil {
		e.say("%s", keptWords(c.Out, r))
	}
	return errors.Join(err, c.print(e, r))
}

// besideRaw is where the result is kept when nothing else is said: beside its raw replies.
func besideRaw(raw string) string {
	stem, isResult := strings.CutSuffix(raw, ".json")
	if isResult {
		return stem + "-result.json"
	}
	return strings.TrimSuffix(raw, filepath.Ext(raw)) + ".json"
}

func keptWords(path string, r *check.Report) string {
	if r.BrokeOff != nil {
		return "what was read is kept in " + path + "; it is not complete"
	}
	return "kept in " + path + "; judder compare compares two of these"
}

func (c *checkCommand) print(e *env, r *check.Report) error {
	if c.JSON {
		return writeJSON(e.out, r)
	}
	return e.page(func(w io.Writer) error { return page.WriteCheck(w, r) })
}
