package cli

import (
	"fmt"
	"io"
	"strings"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/page"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/tui"
)

type compareCommand struct {
	complaintFlag
	Before string `arg:"" placeholder:"BEFORE" help:"A code check kept by judder check, or the recording of a drive."`
	After  string `arg:"" placeholder:"AFTER" help:"A later one of the same car: of the same kind."`
	JSON   bool   `help:"Print the result as JSON."`
}

func (c *compareCommand) Run(e *env) error {
	if err := c.check(); err != nil {
		return err
	}
	first, err := openable(c.Before)
	if err != nil {
		return err
	}
	second, err := openable(c.After)
	if err != nil {
		return err
	}
	same := sameFile(c.Before, c.After)
	switch {
	case same && first:
		return usageError("both are the same recording: name the drive after the repair second")
	case same:
		return usageError("both are the same code check: name the later one second")
	case first && second:
		return c.drives(e)
	case first:
		return fmt.Errorf("%s is a drive and %s is not: give two drives, or two code checks", c.Before, c.After)
	case second:
		return fmt.Errorf("%s is a drive and %s is not: give two drives, or two code checks", c.After, c.Before)
	case c.given():
		return usageError("--complaint: it is about drives, not about code checks")
	}
	before, err := check.Load(c.Before)
	if err != nil {
		return err
	}
	after, err := check.Load(c.After)
	if err != nil {
		return err
	}
	result := compareChecks(before, after, pairOf(before, after))
	result.Before.File, result.After.File = c.Before, c.After
	if c.JSON {
		return writeJSON(e.out, result)
	}
	return e.page(func(w io.Writer) error { return page.WriteComparison(w, result) })
}

// page prints text for people, its long lines broken between words.
func (e *env) page(write func(io.Writer) error) error {
	var b strings.Builder
	if err := write(&b); err != nil {
		return err
	}
	return writeLines(e.out, b.String(), tui.TextWidth(e.raw, prose.PageWidth))
}

// writeLines writes text with its lines broken between words.
func writeLines(w io.Writer, text string, width int) error {
	for _, line := range prose.Wrap(strings.Split(strings.TrimRight(text, "\n"), "\n"), width) {
		if _, err := fmt.Fprintln(w, line); err != nil {
			return err
		}
	}
	return nil
}
