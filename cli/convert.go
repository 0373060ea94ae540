package cli

import (
	"bufio"
	"fmt"
	"os"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/recording"
	"github.com/judder-obd/judder/session/table"
)

type importCommand struct {
	File string `arg:"" name:"FILE.csv" help:"Readings, one per line: time_s,signal,value; optional columns ecu and unit. Signals by their SAE J1979 acronyms (RPM, VSS, TP, ...)."`
	Out  string `required:"" placeholder:"FILE" help:"The recording to make; never overwrites."`
}

func (c *importCommand) Run(e *env) error {
	f, err := os.Open(c.File)
	if err != nil {
		return fmt.Errorf("%w; give a CSV file of readings", err)
	}
	defer func() { _ = f.Close() }() // read only
	samples, notes, err := table.Import(f, c.File)
	if err != nil {
		return err
	}
	for _, n := range notes {
		e.say("%s", n)
	}
	w, err := recording.Create(c.Out, recording.Header{Program: "judder " + version(), Port: "imported from " + c.File})
	if err != nil {
		return err
	}
	for _, s := range samples {
		if err := w.Append(recording.Truncate(recording.OfReading(s))); err != nil {
			_ = w.Close("import failed") // the error that matters is the one being returned
			return err
		}
	}
	if err := w.Close("import complete"); err != nil {
		return err
	}
	e.say("%d readings in %s", len(samples), c.Out)
	return nil
}

type exportCommand struct {
	File string `arg:"" name:"FILE" help:"A recording."`
	CSV  bool   `name:"csv" default:"true" help:"As CSV: time_s,ecu,signal,value,unit in order of time. This is the only form, so the flag may be left out."`
}

func (c *exportCommand) Run(e *env) error {
	samples, analysis, damage, err := session.Readings(c.File)
	if err != nil {
		return err
	}
	if damage != "" {
		e.say("%s: %s", c.File, damage)
	}
	unit := func(s pids.Signal) string {
		_, u := analysis.About(s)
		return u
	}
	out := bufio.NewWriter(e.out)
	if err := table.Export(out, samples, unit); err != nil {
		return err
	}
	return out.Flush()
}
