package table

import (
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
)

// importing is a file that is being read.
type importing struct {
	Imported
	file    string
	mapping *Mapping
	src     *source
	numbers decimals
	line    int // of the current row
	cols    []Column
	heads   []heading
	place   [MarkUse + 1]int // column of each use; -1 where there is none
	again   string           // heading that is there twice
	long    bool
	times   times
	at      time.Duration // of the row before
	words   words
	steps   stepWatch
}

// Import reads readings in either of two forms, each row with a time:
//
//   - one column a signal. A heading is a signal's acronym of SAE J1979 or its name, and its unit if
//     that is another; an empty cell is no reading.
//   - one reading a row, in columns named signal and value, with ecu and unit if there are such.
//
// Columns are separated by commas, semicolons, tabs or bars. Times are seconds or another unit since
// the start of the drive or since 1970, or wall clock times, and are rounded to microseconds. Values
// in another unit are converted into the signal's own. Names that are not known are kept as they are.
// mapping, which may be nil, says what other headings mean.
//
// The error is an [*Error] and comes without readings; file is for messages.
func Import(r io.Reader, file string, mapping *Mapping) (*Imported, error) {
	c := &importing{file: file, mapping: mapping, words: newWords(), steps: newStepWatch()}
	for i := range c.place {
		c.place[i] = -1
	}
	if err := c.run(r); err != nil {
		return nil, err
	}
	c.finish()
	return &c.Imported, nil
}

// run reads the whole file.
func (c *importing) run(r io.Reader) error {
	src, head, found, err := open(r)
	if errors.Is(err, ErrBinary) {
		return &Error{File: c.file, Err: err, Next: "save the table as CSV, in UTF-8"}
	}
	if err != nil {
		return &Error{File: c.file, Line: 1, Err: err, Next: "check the disk and try again"}
	}
	c.src = src
	if !found {
		c.line = src.skipped + 1
		return c.fault("", head, ErrSeparator, "separate the columns by commas, semicolons or tabs, the same in the whole file")
	}
	c.numbers.comma = src.comma
	row, err := c.read()
	switch {
	case err != nil:
		return err
	case row == nil:
		return c.empty()
	}
	if err := c.layout(slices.Clone(row)); err != nil {
		return err
	}
	for first := true; ; first = false {
		row, err := c.read()
		switch {
		case err != nil:
			return err
		case row == nil:
			return c.whole()
		case first && c.unitRow(row):
			continue
		}
		if row, err = c.fit(row); err != nil {
			return err
		}
		if row == nil {
			return c.whole()
		}
		if err := c.row(row); err != nil {
			return err
		}
		c.Rows++
	}
}

// whole looks at what the whole file shows.
func (c *importing) whole() error {
	if len(c.Samples) == 0 {
		for i := range c.cols {
			if col := &c.cols[i]; col.Known && col.Text > 0 {
				c.line = col.Line
				return c.badNumber(col.Heading, col.First, ErrNumber)
			}
		}
		return c.empty()
	}
	if step := c.steps.usual(); c.times.form == Elapsed && c.times.unit == nil && step >= 5*time.Second {
		c.line = c.src.skipped + 1
		return c.fault(c.cols[c.place[TimeUse]].Heading, "", ErrTimeUnit,
			fmt.Sprintf("it goes on in steps of %g: name the column time_s if these are seconds, time_ms if they are milliseconds", step.Seconds()))
	}
	return nil
}

func (c *importing) empty() error {
	return &Error{File: c.file, Err: ErrEmpty,
		Next: "the first line names the columns, such as time_s,RPM,VSS or time_s,signal,value, and the others hold the readings"}
}

// read gives the next row; nil at the end.
func (c *importing) read() ([]string, error) {
	row, err := c.src.rows.Read()
	var parse *csv.ParseError
	switch {
	case errors.Is(err, io.EOF):
		return nil, nil
	case errors.As(err, &parse):
		c.line = c.src.skipped + parse.Line
		return nil, c.fault("", strings.Join(row, string(c.src.comma)), ErrShape, "check the quotes of that line")
	case err != nil:
		return nil, &Error{File: c.file, Line: c.line + 1, Err: err, Next: "check the disk and try again"}
	}
	line, _ := c.src.rows.FieldPos(0)
	c.line = c.src.skipped + line
	for i := range row {
		row[i] = strings.TrimSpace(row[i])
	}
	return row, nil
}

// fit gives a row the columns of the heading: empty cells at the end may be missing or too many. A
// last row without its line feed that is too short was cut off; it comes back as nil.
func (c *importing) fit(row []string) ([]string, error) {
	want := len(c.cols)
	for len(row) > want && row[len(row)-1] == "" {
		row = row[:len(row)-1]
	}
	for len(row) < want && c.cols[len(row)].Heading == "" {
		row = append(row, "")
	}
	if len(row) == want {
		return row, nil
	}
	found := strings.Join(row, string(c.src.comma))
	if line := c.line; len(row) < want && c.src.tail.last != '\n' {
		if next, err := c.read(); err == nil && next == nil {
			c.CutLine = line
			return nil, nil
		}
		c.line = line
	}
	next := fmt.Sprintf("it has %d of %d columns", len(row), want)
	for _, other := range separators {
		if other != c.src.comma && outsideQuotes(found, other) == want-1 {
			return nil, c.fault("", found, ErrSeparator, "this line is separated otherwise than the first: use one separator in the whole file")
		}
	}
	if len(row) > want && c.src.comma == ',' {
		next += "; numbers take a decimal point here, or semicolons between the columns"
	} else {
		next += "; complete the line or take it out"
	}
	return nil, c.fault("", found, ErrShape, next)
}

// fault makes the error for a cell of the current line.
func (c *importing) fault(column, found string, err error, next string) error {
	return &Error{File: c.file, Line: c.line, Column: column, Found: found, Err: err, Next: next}
}

func (c *importing) note(format string, args ...any) {
	c.Notes = append(c.Notes, prose.Clean(fmt.Sprintf(format, args...)))
}

// finish fills in what the whole file shows.
func (c *importing) finish() {
	slices.SortStableFunc(c.Samples, func(a, b pids.Sample) int { return cmp.Compare(a.At, b.At) })
	c.onlyRead()
	c.Long, c.Separator, c.Decimals = c.long, c.src.comma, rune(c.numbers.mark)
	c.Time, c.Start, c.Midnights = c.times.form, c.times.start(), c.times.crossed
	c.Zoned = c.times.zone != nil
	if c.times.unit != nil {
		c.TimeUnit = c.times.unit.unit
	}
	for i := range c.cols {
		col := &c.cols[i]
		col.Heading = prose.Clean(col.Heading)
		if col.Use != SignalUse || col.Readings > 0 {
			continue
		}
		col.Use, col.Why = Unused, Empty
		if col.Text > 0 {
			col.Why = NoNumber
		}
	}
	c.Columns = c.cols
}
