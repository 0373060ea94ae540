package cli

import (
	"context"
	"fmt"
	"io"
	"iter"
	"os"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session/recording"
	"github.com/judder-obd/judder/session/table"
)

type importCommand struct {
	File string `arg:"" name:"FILE.csv" help:"Readings with times: one column a signal, or time_s,signal,value. - is standard input. See docs/tables.md."`
	Out  string `required:"" placeholder:"FILE" help:"The recording to make; never overwrites."`
	Map  string `placeholder:"FILE" help:"A small TOML file that says what other headings mean."`
	Held bool   `help:"The file repeats engine speed until it is read again: take each value once."`
}

func (c *importCommand) Run(e *env) error {
	in, name, err := c.open(e)
	if err != nil {
		return err
	}
	defer func() { _ = in.Close() }() // read only
	mapping, err := c.mapping()
	if err != nil {
		return err
	}
	got, err := table.Import(in, name, mapping)
	if err != nil {
		return err
	}
	for _, line := range importWords(got) {
		e.say("%s: %s", name, line)
	}
	if c.Held {
		got.Samples = table.OnlyChanges(got.Samples, pids.RPM)
	}
	if err := c.record(e, got, name); err != nil {
		return err
	}
	e.say("%s in %s", prose.Count(len(got.Samples), "reading", "readings"), c.Out)
	return nil
}

// open opens the file, or standard input.
func (c *importCommand) open(e *env) (io.ReadCloser, string, error) {
	if c.File == "-" {
		return io.NopCloser(e.in), "standard input", nil
	}
	info, err := os.Stat(c.File)
	if err == nil && info.IsDir() {
		err = recording.ErrFolder
	}
	if err != nil {
		return nil, "", recording.NewFileError("open", c.File, err)
	}
	f, err := os.Open(c.File)
	if err != nil {
		return nil, "", recording.NewFileError("open", c.File, err)
	}
	return f, c.File, nil
}

func (c *importCommand) mapping() (*table.Mapping, error) {
	if c.Map == "" {
		return nil, nil
	}
	text, err := os.ReadFile(c.Map)
	if err != nil {
		return nil, fmt.Errorf("mapping file: %w; check the file's name, or leave --map out", err)
	}
	return table.ParseMapping(c.Map, text)
}

// record writes readings and marks in order of time.
func (c *importCommand) record(e *env, got *table.Imported, name string) error {
	w, err := recording.Create(c.Out, recording.Header{Start: got.Start, Program: "judder " + version(), Port: "imported from " + name})
	if err != nil {
		return err
	}
	whole, ok := e.halves.begin(func() { _ = os.Remove(c.Out) })
	if !ok {
		return errEnded
	}
	defer whole()
	err = w.AppendAll(entriesOf(e.ctx, got))
	if err == nil {
		err = e.ended()
	}
	if err == nil {
		return w.Close("import complete")
	}
	_ = w.Close("import failed") // the error that matters is the one being returned
	_ = os.Remove(c.Out)
	return err
}

// entriesOf gives readings and marks as entries, in order of time, until the context ends.
func entriesOf(ctx context.Context, got *table.Imported) iter.Seq[recording.Entry] {
	return func(yield func(recording.Entry) bool) {
		marks := got.Marks
		for _, s := range got.Samples {
			if ctx.Err() != nil {
				return
			}
			for len(marks) > 0 && marks[0].At <= s.At {
				if !yield(recording.Truncate(entryOf(marks[0]))) {
					return
				}
				marks = marks[1:]
			}
			if !yield(recording.Truncate(recording.OfReading(s))) {
				return
			}
		}
		for _, m := range marks {
			if !yield(recording.Truncate(entryOf(m))) {
				return
			}
		}
	}
}

func entryOf(m table.Mark) recording.Entry {
	if m.Note == "" {
		return recording.Felt(m.At)
	}
	return recording.Note(m.At, m.Note)
}
