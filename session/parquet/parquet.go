// Package parquet writes a drive as an Apache Parquet file, which query engines read: one reading a
// row, the same columns for every drive, or one column a signal.
package parquet

import (
	"fmt"
	"io"
	"math"
	"slices"
	"time"

	"github.com/parquet-go/parquet-go"

	"github.com/judder-obd/judder/session/table"
)

// column is a column of a file.
type column struct {
	name     string
	node     parquet.Node
	optional bool
}

// The kinds of columns. Text repeats itself, so a dictionary holds it.
func text(name string) column {
	return column{name, parquet.Encoded(parquet.String(), &parquet.RLEDictionary), true}
}

func number(name string) column {
	return column{name, parquet.Leaf(parquet.DoubleType), true}
}

// seconds counts from the start of the drive; each row has it.
func seconds(name string) column { return column{name, parquet.Leaf(parquet.DoubleType), false} }

// moment is a wall clock time in UTC, to the microsecond.
func moment(name string) column { return column{name, parquet.Timestamp(parquet.Microsecond), true} }

// group is a group whose fields keep their order.
type group struct {
	parquet.Group
	columns []column
}

// Fields gives the columns in order.
func (g group) Fields() []parquet.Field {
	fields := g.Group.Fields()
	place := func(f parquet.Field) int {
		return slices.IndexFunc(g.columns, func(c column) bool { return c.name == f.Name() })
	}
	slices.SortFunc(fields, func(a, b parquet.Field) int { return place(a) - place(b) })
	return fields
}

// rowsAtOnce is how many rows go to the library at once.
const rowsAtOnce = 1024

// file is a file that is being written.
type file struct {
	out     *parquet.GenericWriter[any]
	columns []column
	rows    []parquet.Row
	err     error
}

// create begins a file. The columns' names differ.
func create(w io.Writer, program string, columns []column, notes map[string]string) *file {
	g := group{parquet.Group{}, columns}
	for _, c := range columns {
		node := parquet.Compressed(c.node, &parquet.Snappy)
		if c.optional {
			node = parquet.Optional(node)
		}
		g.Group[c.name] = node
	}
	out := parquet.NewGenericWriter[any](w, parquet.NewSchema("drive", g), parquet.CreatedBy("judder", program, ""))
	for key, value := range notes {
		out.SetKeyValueMetadata(key, value)
	}
	return &file{out: out, columns: columns}
}

// write adds a row: a string, float64, time.Time or nil for each column. NaN, "" and the zero time are
// no value where the column may be without one.
func (f *file) write(cells ...any) {
	row := make(parquet.Row, len(cells))
	for i, cell := range cells {
		var v parquet.Value
		switch cell := cell.(type) {
		case string:
			if cell != "" {
				v = parquet.ByteArrayValue([]byte(cell))
			}
		case float64:
			if !math.IsNaN(cell) && !math.IsInf(cell, 0) {
				v = parquet.DoubleValue(cell)
			}
		case time.Time:
			if !cell.IsZero() {
				v = parquet.Int64Value(cell.UnixMicro())
			}
		}
		level := 0
		if f.columns[i].optional && !v.IsNull() {
			level = 1
		}
		row[i] = v.Level(0, level, i)
	}
	if f.rows = append(f.rows, row); len(f.rows) == rowsAtOnce {
		f.flush()
	}
}

func (f *file) flush() {
	if f.err == nil {
		_, f.err = f.out.WriteRows(f.rows)
	}
	f.rows = f.rows[:0]
}

func (f *file) close() error {
	f.flush()
	if f.err == nil {
		f.err = f.out.Close()
	}
	if f.err != nil {
		return fmt.Errorf("cannot write the Parquet file: %w; check that the disk has room", f.err)
	}
	return nil
}

// The kinds of rows in the long form.
const (
	kindReading = "reading"
	kindFelt    = "felt"
	kindNote    = "note"
	kindEvent   = "event"
)

// WriteLong writes one reading a row: drive, start, time_s, kind, ecu, signal, value, unit. Marks and
// what was found follow the readings: text holds a note or the name of an event, until_s its end.
// program is the version of the program that writes.
func WriteLong(w io.Writer, s *table.Sheet, program string) error {
	f := create(w, program, []column{
		text("drive"), moment("start"), seconds("time_s"), text("kind"), text("ecu"), text("signal"),
		number("value"), text("unit"), number("until_s"), text("text"),
	}, nil)
	for _, r := range s.InOrder() {
		f.write(s.Drive, s.Start, r.At.Seconds(), kindReading, r.ECU, string(r.Signal), r.Value, s.UnitOf(r.Signal), nil, nil)
	}
	for _, m := range s.Marks {
		kind := kindNote
		if m.Note == "" {
			kind = kindFelt
		}
		f.write(s.Drive, s.Start, m.At.Seconds(), kind, nil, nil, nil, nil, nil, m.Note)
	}
	for _, e := range s.Spans {
		f.write(s.Drive, s.Start, e.Start.Seconds(), kindEvent, nil, nil, nil, nil, e.End.Seconds(), e.Name)
	}
	return f.close()
}

// WriteWide writes one column a signal, named by its acronym, after drive, start and time_s, with mark
// and event last. The units are in the file's key-value metadata, as unit:SIGNAL.
func WriteWide(w io.Writer, s *table.Sheet, program string) error {
	g := table.NewGrid(s)
	columns := []column{text("drive"), moment("start"), seconds("time_s")}
	units := map[string]string{}
	for _, c := range g.Signals {
		name := c.Name
		for slices.ContainsFunc(columns, func(o column) bool { return o.name == name }) || name == "mark" || name == "event" {
			name += "_"
		}
		columns = append(columns, number(name))
		if c.Unit != "" {
			units["unit:"+name] = c.Unit
		}
	}
	f := create(w, program, append(columns, text("mark"), text("event")), units)
	cells := make([]any, len(f.columns))
	cells[0], cells[1] = s.Drive, s.Start
	for r := range g.Rows() {
		cells[2] = r.At.Seconds()
		for i, v := range r.Values {
			cells[3+i] = v
		}
		cells[len(cells)-2], cells[len(cells)-1] = r.Mark, r.Event
		f.write(cells...)
	}
	return f.close()
}
