package table

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
)

// columns are the columns that mean something; the first three must be there.
var columns = [...]string{"time_s", "signal", "value", "ecu", "unit"}

// The places of columns.
const (
	colTime = iota
	colSignal
	colValue
	colECU
	colUnit
	colNeeded = colValue + 1
)

// latestTime bounds the times of a file: more than a drive can last, and less than any
// wall clock that counts from 1970.
const latestTime = 1e6 // s, some 11 days

// importing is a file that is being read.
type importing struct {
	file    string
	rows    *csv.Reader
	line    int                    // of the current row
	place   [len(columns)]int      // column in the file; -1 when it is not there
	names   map[string]pids.Signal // signal as written: as used
	ecus    map[string]string
	units   map[[2]string]bool            // signal and unit that go together
	last    map[pids.Sample]time.Duration // by ECU and signal: latest time
	back    map[pids.Sample]bool          // ECU and signal whose times go backwards
	samples []pids.Sample
	notes   []string
}

// Import reads readings in the columns time_s, signal and value, with ecu and unit if
// there are such, in any order, named by the first line. Times are seconds since the
// start of the drive and are rounded to microseconds. Values are in the signal's own unit;
// a unit column that says otherwise is refused, not converted. A signal goes by its SAE
// J1979 acronym; other names are kept as they are.
//
// Samples come back in order of time; notes are in words what was changed or passed over.
// The error is an [*Error] and comes without samples; file is for messages.
func Import(r io.Reader, file string) (samples []pids.Sample, notes []string, err error) {
	buffered := bufio.NewReader(r)
	if mark, err := buffered.Peek(3); err == nil && bytes.Equal(mark, []byte("\ufeff")) {
		_, _ = buffered.Discard(3) // peeked, so it is there
	}
	c := &importing{
		file: file, rows: csv.NewReader(buffered),
		names: map[string]pids.Signal{}, ecus: map[string]string{}, units: map[[2]string]bool{},
		last: map[pids.Sample]time.Duration{}, back: map[pids.Sample]bool{},
	}
	c.rows.ReuseRecord = true
	c.rows.TrimLeadingSpace = true
	if err := c.run(); err != nil {
		return nil, nil, err
	}
	return c.samples, c.notes, nil
}

// run reads the whole file.
func (c *importing) run() error {
	row, err := c.read()
	if err != nil {
		return err
	}
	if row == nil {
		return c.empty()
	}
	if err := c.header(row); err != nil {
		return err
	}
	for {
		row, err := c.read()
		if err != nil {
			return err
		}
		if row == nil {
			break
		}
		if err := c.row(row); err != nil {
			return err
		}
	}
	if len(c.samples) == 0 {
		return c.empty()
	}
	c.sort()
	return nil
}

func (c *importing) empty() error {
	return &Error{File: c.file, Err: ErrEmpty,
		Next: "the first line names the columns, time_s,signal,value, and each further line is one reading"}
}

// read gives the next row; nil at the end.
func (c *importing) read() ([]string, error) {
	row, err := c.rows.Read()
	var parse *csv.ParseError
	switch {
	case errors.Is(err, io.EOF):
		return nil, nil
	case errors.As(err, &parse):
		c.line = parse.Line
		next := "check the quotes and commas of that line; numbers take a decimal point, not a comma"
		return nil, &Error{File: c.file, Line: parse.Line, Found: strings.Join(row, ","), Err: ErrShape, Next: next}
	case err != nil:
		return nil, &Error{File: c.file, Line: c.line + 1, Err: err, Next: "check the disk and try again"}
	}
	c.line, _ = c.rows.FieldPos(0)
	return row, nil
}

// header finds the columns.
func (c *importing) header(row []string) error {
	for i := range c.place {
		c.place[i] = -1
	}
	var other []string
	for i, cell := range row {
		name := strings.ToLower(strings.TrimSpace(cell))
		col := slices.Index(columns[:], name)
		switch {
		case col < 0:
			other = append(other, strconv.Quote(shorten(name)))
		case c.place[col] >= 0:
			return c.fault(columns[col], "", ErrHeader, "name each column once")
		default:
			c.place[col] = i
		}
	}
	var missing []string
	for col, name := range columns[:colNeeded] {
		if c.place[col] < 0 {
			missing = append(missing, name)
		}
	}
	if len(missing) > 0 {
		return c.headerFault(row, missing)
	}
	if len(other) > 0 {
		c.note("columns passed over: %s", strings.Join(other[:min(len(other), 10)], ", "))
	}
	return nil
}

// headerFault says which columns are missing, and why that may be.
func (c *importing) headerFault(row, missing []string) error {
	found := strings.Join(row, ",")
	if len(row) == 1 && strings.ContainsAny(found, ";\t|") {
		return c.fault("", found, ErrSeparator, "save the file with commas between columns and a decimal point in numbers")
	}
	return c.fault("", found, ErrHeader,
		"the first line must name the columns time_s, signal and value; missing: "+strings.Join(missing, ", "))
}

// fault makes the error for a cell of the current line.
func (c *importing) fault(column, found string, err error, next string) error {
	return &Error{File: c.file, Line: c.line, Column: column, Found: found, Err: err, Next: next}
}

func (c *importing) note(format string, args ...any) {
	c.notes = append(c.notes, prose.Clean(c.file+": "+fmt.Sprintf(format, args...)))
}

// cell gives a cell without blanks around it; "" for a column that is not there.
func (c *importing) cell(row []string, col int) string {
	if c.place[col] < 0 {
		return ""
	}
	return strings.TrimSpace(row[c.place[col]])
}

// row takes in one reading.
func (c *importing) row(row []string) error {
	seconds, err := c.number(row, colTime)
	if err != nil {
		return err
	}
	if seconds < 0 || seconds > latestTime {
		return c.fault("time_s", c.cell(row, colTime), ErrTime,
			"give seconds since the start of the drive: take the first time off all of them")
	}
	value, err := c.number(row, colValue)
	if err != nil {
		return err
	}
	signal, err := c.signal(c.cell(row, colSignal))
	if err != nil {
		return err
	}
	ecu, err := c.ecu(c.cell(row, colECU))
	if err != nil {
		return err
	}
	if err := c.unit(signal, c.cell(row, colUnit)); err != nil {
		return err
	}
	at := time.Duration(math.Round(seconds*1e6)) * time.Microsecond
	key := pids.Sample{ECU: ecu, Signal: signal}
	if at < c.last[key] && !c.back[key] {
		c.back[key] = true
		c.note("line %d: the times of %q go backwards; the readings were put in order, none was left out", c.line, signal)
	}
	c.last[key] = max(c.last[key], at)
	c.samples = append(c.samples, pids.Sample{At: at, ECU: ecu, Signal: signal, Value: value})
	return nil
}

// sort puts the samples in order of time; those of one time stay in the file's order.
func (c *importing) sort() {
	slices.SortStableFunc(c.samples, func(a, b pids.Sample) int { return cmp.Compare(a.At, b.At) })
}
