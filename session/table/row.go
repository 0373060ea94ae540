package table

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
)

// row takes in one row.
func (c *importing) row(row []string) error {
	at, err := c.time(row)
	if err != nil {
		return err
	}
	if c.long {
		return c.reading(row, at)
	}
	if at < c.at {
		return c.back(row, c.at-at)
	}
	if c.Rows > 0 && at == c.at {
		c.SameTime++
	}
	c.steps.add(at - c.at)
	c.at = at
	if err := c.signals(row, at); err != nil {
		return err
	}
	if m := c.place[MarkUse]; m >= 0 && row[m] != "" {
		c.mark(row[m], at)
	}
	return nil
}

// time reads the time of a row.
func (c *importing) time(row []string) (time.Duration, error) {
	place := c.place[TimeUse]
	cell, name := row[place], c.cols[place].Heading
	if cell == "" {
		return 0, c.fault(name, "", ErrNumber, "the cell is empty: take the line out, or give the time")
	}
	if t := &c.times; t.form == Elapsed || t.form == Unix {
		v, err := c.numbers.number(cell)
		if err == nil {
			at, ok := t.number(v)
			if !ok {
				return 0, c.fault(name, cell, ErrTime, "give seconds since the start of the drive: take the first time off all of them; time_ms is for milliseconds")
			}
			return at, nil
		}
		if t.begun || !strings.ContainsAny(cell, ":T") {
			return 0, c.badNumber(name, cell, err)
		}
	}
	date := ""
	if d := c.place[DateUse]; d >= 0 {
		date = row[d]
	}
	begun := c.times.begun
	at, ok := c.times.clock(cell, date)
	switch {
	case ok:
		return at, nil
	case !begun:
		return 0, c.fault(name, strings.TrimSpace(date+" "+cell), ErrTime, "write times like 2026-03-01T14:30:00.250 or 14:30:00.250, or as seconds")
	}
	return 0, c.fault(name, strings.TrimSpace(date+" "+cell), ErrClock, "write all times alike, in order, not more than 11 days apart")
}

// badNumber makes the error for a cell that is no number.
func (c *importing) badNumber(name, cell string, err error) error {
	next := "give a decimal number without a unit"
	switch {
	case errors.Is(err, ErrFinite):
		next = "take the line out, or give the number that was read"
	case errors.Is(err, ErrDecimal):
		next = "write decimals with a point and thousands without a mark, or put semicolons between the columns"
	case errors.Is(err, ErrThousands):
		next = "write all numbers without them; a spreadsheet does it where the cells have no format"
	case errors.Is(err, ErrMarks):
		next = "use one decimal mark in the whole file, and none for thousands"
	case cell == "":
		next = "the cell is empty: take the line out, or give the number that was read"
	}
	return c.fault(name, cell, err, next)
}

func (c *importing) back(row []string, by time.Duration) error {
	place := c.place[TimeUse]
	next := fmt.Sprintf("it is %s earlier than the row before: put the rows in order, or give a second drive a file of its own", prose.Duration(by))
	return c.fault(c.cols[place].Heading, row[place], ErrBack, next)
}

// signals takes the readings of a row with one column a signal. What is no number is counted and left
// out. A mark in a number that does not fit is a fault of the file where the signal is one of the standard's.
func (c *importing) signals(row []string, at time.Duration) error {
	for i := range c.cols {
		col := &c.cols[i]
		if col.Use != SignalUse {
			continue
		}
		cell := row[i]
		if isBlank(cell) {
			col.Blank++
			continue
		}
		v, err := c.numbers.number(cell)
		if err != nil {
			if col.Known && (errors.Is(err, ErrDecimal) || errors.Is(err, ErrMarks) || errors.Is(err, ErrThousands)) {
				return c.badNumber(col.Heading, cell, err)
			}
			if col.Text == 0 {
				col.First, col.Line = prose.Clean(shorten(cell)), c.line
			}
			col.Text++
			continue
		}
		if v != 0 && col.Readings > 0 && v == col.last {
			col.Same++
		}
		col.last = v
		col.Readings++
		c.Samples = append(c.Samples, pids.Sample{At: at, ECU: col.ECU, Signal: col.Signal, Value: col.scale.of(v)})
	}
	return nil
}

// reading takes the one reading of a row in the long form.
func (c *importing) reading(row []string, at time.Duration) error {
	value := c.place[ValueUse]
	v, err := c.numbers.number(row[value])
	if err != nil {
		return c.badNumber(c.cols[value].Heading, row[value], err)
	}
	signal, err := c.signal(row[c.place[NameUse]])
	if err != nil {
		return err
	}
	ecu, unit := "", ""
	if e := c.place[ECUUse]; e >= 0 {
		if ecu, err = c.ecu(row[e]); err != nil {
			return err
		}
	}
	if u := c.place[UnitUse]; u >= 0 {
		unit = row[u]
	}
	if signal.ecu != "" {
		ecu = signal.ecu
	}
	if signal.unit != "" {
		unit = signal.unit
	}
	s, err := c.unit(signal.signal, unit)
	if err != nil {
		return err
	}
	key := pids.Sample{ECU: ecu, Signal: signal.signal}
	if last, seen := c.words.last[key]; seen && at < last {
		return c.back(row, last-at)
	} else if seen {
		c.steps.add(at - last)
	}
	c.words.last[key] = at
	c.cols[value].Readings++
	c.Samples = append(c.Samples, pids.Sample{At: at, ECU: ecu, Signal: signal.signal, Value: s.of(v)})
	return nil
}

// mark takes the cell of a mark: "felt", or a note.
func (c *importing) mark(cell string, at time.Duration) {
	c.cols[c.place[MarkUse]].Readings++
	for part := range strings.SplitSeq(cell, markBetween) {
		if part == feltWord {
			part = ""
		}
		c.Marks = append(c.Marks, Mark{At: at, Note: prose.Clean(strings.TrimPrefix(part, "'"))})
	}
}

// unitRow reports whether the first row below the heading holds units, and takes them.
func (c *importing) unitRow(row []string) bool {
	t := c.place[TimeUse]
	if c.long || len(row) != len(c.cols) || row[t] != "" && unitNamed(strings.Trim(row[t], "()[]")) == nil {
		return false
	}
	units := make([]string, len(row))
	seen := false
	for i, cell := range row {
		units[i] = strings.Trim(fromLatin1(cell), "()[] ")
		if strings.ContainsAny(units[i], "0123456789") && unitNamed(units[i]) == nil {
			return false
		}
		seen = seen || unitNamed(units[i]) != nil
	}
	if !seen {
		return false
	}
	for i := range c.cols {
		col := &c.cols[i]
		switch {
		case i == t && col.Unit == "":
			if u := unitNamed(units[i]); u != nil && u.into == "s" {
				c.times.unit, col.Unit = u, units[i]
			}
		case col.Use != SignalUse || col.Unit != "" || !col.Known:
		default:
			var fits bool
			col.Unit = units[i]
			if col.scale, fits = conversion(col.Unit, col.Own); !fits {
				col.Use, col.Why = Unused, BadUnit
			}
		}
	}
	return true
}

// plainText refuses what must not reach a terminal.
func plainText(s string) bool {
	return utf8.ValidString(s) && !strings.ContainsFunc(s, prose.Steers)
}

// stepWatch looks at the steps between the times of the rows.
type stepWatch struct{ steps []time.Duration }

// watchMost is how many steps are looked at.
const watchMost = 1000

func newStepWatch() stepWatch { return stepWatch{} }

func (w *stepWatch) add(step time.Duration) {
	if step > 0 && len(w.steps) < watchMost {
		w.steps = append(w.steps, step)
	}
}

// usual is the median of the steps; 0 where there is none.
func (w *stepWatch) usual() time.Duration {
	if len(w.steps) == 0 {
		return 0
	}
	slices.Sort(w.steps)
	return w.steps[len(w.steps)/2]
}
