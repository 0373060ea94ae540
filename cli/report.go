package cli

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/judder-obd/judder/casefile"
	paper "github.com/judder-obd/judder/casefile/report"
	"github.com/judder-obd/judder/prose"
)

type reportCommand struct {
	Dir        string `arg:"" placeholder:"DIR" help:"A case."`
	Out        string `placeholder:"FILE" help:"Where to write the paper (HTML, one file); never overwrites."`
	BeforeWork bool   `help:"The paper before the work: what is asked for. Default: the one that the case is ready for."`
	Done       bool   `help:"The paper after the work: whether the shudder is gone."`
	Text       bool   `help:"Print it in 20 lines, for a phone call."`
	PDF        bool   `help:"Write a PDF beside the HTML, by a Chromium browser of this computer."`
	Browser    string `placeholder:"PROGRAM" help:"The Chromium browser that makes the PDF. Default: one that is found."`
	Sheet      string `placeholder:"SIZE" help:"Size of a printed page: A4 or Letter. Default: the printer's."`
	VIN        bool   `help:"Show the vehicle identification number whole."`
}

func (c *reportCommand) check() error {
	switch {
	case c.BeforeWork && c.Done:
		return usageError("give one of --before-work and --done")
	case c.Out == "" && !c.Text:
		return usageError("--out FILE.html says where to write the paper; --text prints it in 20 lines")
	case c.PDF && c.Out == "":
		return usageError("--pdf belongs to --out FILE.html")
	case c.PDF && strings.EqualFold(filepath.Ext(c.Out), ".pdf"):
		return usageError("--out names the HTML file; --pdf writes the PDF beside it")
	}
	for _, s := range paper.Sheets {
		if strings.EqualFold(c.Sheet, s) {
			c.Sheet = s
			return nil
		}
	}
	if c.Sheet != "" {
		return usageError("--sheet: give A4 or Letter")
	}
	return nil
}

func (c *reportCommand) Run(e *env) (err error) {
	if err := c.check(); err != nil {
		return err
	}
	f, err := casefile.Open(c.Dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	stage := f.Case.Ready()
	switch {
	case c.BeforeWork:
		stage = casefile.Before
	case c.Done:
		stage = casefile.After
	}
	p := paper.Make(f.Gather(), paper.Options{Stage: stage, VIN: c.VIN, Sheet: c.Sheet, Now: e.started.Truncate(time.Second), Program: "judder " + version()})
	if c.Text {
		if err := p.WriteText(e.out); err != nil {
			return err
		}
	}
	if c.Out == "" {
		return nil
	}
	var html bytes.Buffer
	if err := p.WriteHTML(&html); err != nil {
		return err
	}
	if err := e.halves.writeNew(c.Out, given(html.Bytes())); err != nil {
		return err
	}
	e.say("the paper %s the work is in %s (%d kB)", stage, c.Out, (html.Len()+999)/1000)
	if n := len(f.Case.Of(casefile.Photo, casefile.Before)) + len(f.Case.Of(casefile.Photo, casefile.After)); n > 0 {
		e.say("it shows %s: look for readable number plates and faces before you hand it on", prose.Count(n, "photo", "photos"))
	}
	if c.PDF {
		return c.pdf(e)
	}
	return nil
}

// pdf prints the HTML file to PDF.
func (c *reportCommand) pdf(e *env) error {
	out := strings.TrimSuffix(c.Out, filepath.Ext(c.Out)) + ".pdf"
	browser := c.Browser
	if browser == "" {
		browser = findBrowser()
	}
	if browser == "" {
		return fmt.Errorf("no Chromium browser was found, so there is no PDF: open %s in any browser and print it to PDF, or name one with --browser", c.Out)
	}
	pdf, err := printPDF(e.ctx, browser, c.Out)
	if err != nil {
		return fmt.Errorf("%w; open %s in any browser and print it to PDF", err, c.Out)
	}
	if err := e.halves.writeNew(out, given(pdf)); err != nil {
		return err
	}
	e.say("the PDF is in %s (%d kB)", out, (len(pdf)+999)/1000)
	return nil
}
