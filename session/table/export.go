package table

import (
	"cmp"
	"encoding/csv"
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

// Sheet is a drive to be written as a table.
type Sheet struct {
	Drive   string                   // its name, for tables of several
	Start   time.Time                // wall clock at time 0; zero when it is not known
	Samples []pids.Sample            // not touched
	Unit    func(pids.Signal) string // unit of a signal; nil for that of the table of parameters
	Marks   []Mark                   // what the user marked
	Spans   []Span                   // what was found
	Rate    float64                  // rows a second of the wide form; 0 for a row at each time of a reading
}

// Span is something that lasted, such as a shudder.
type Span struct {
	Start, End time.Duration
	Name       string
}

// Style is how a CSV is written.
type Style struct {
	DecimalComma bool // and semicolons between the columns
	Mark         bool // a byte order mark, by which some spreadsheets know UTF-8
}

// UnitOf gives the unit of a signal; "" when it is not known.
func (s *Sheet) UnitOf(signal pids.Signal) string {
	if s.Unit == nil {
		return unitOf(signal)
	}
	return s.Unit(signal)
}

// InOrder gives the samples in order of time; those of one time keep theirs.
func (s *Sheet) InOrder() []pids.Sample {
	byTime := func(a, b pids.Sample) int { return cmp.Compare(a.At, b.At) }
	if slices.IsSortedFunc(s.Samples, byTime) {
		return s.Samples
	}
	samples := slices.Clone(s.Samples)
	slices.SortStableFunc(samples, byTime)
	return samples
}

// WriteLong writes the readings as time_s,ecu,signal,value,unit in order of time; [Import] reads it.
// Times have six decimals. Values are written so that they read back the same; one that is not finite
// is an empty cell.
func (s *Sheet) WriteLong(w io.Writer, style Style) error {
	out := newWriter(w, style)
	row := []string{"time_s", "ecu", "signal", "value", "unit"}
	out.write(row)
	for _, sample := range s.InOrder() {
		row[0] = out.seconds(sample.At)
		row[1], row[2] = onOneLine(sample.ECU), onOneLine(string(sample.Signal))
		row[3], row[4] = out.value(sample.Value), onOneLine(s.UnitOf(sample.Signal))
		out.write(row)
	}
	return out.close()
}

// writer writes rows in a style, and keeps the first error.
type writer struct {
	csv    *csv.Writer
	style  Style
	number []byte
	err    error
}

func newWriter(w io.Writer, style Style) *writer {
	out := &writer{csv: csv.NewWriter(w), style: style}
	if style.DecimalComma {
		out.csv.Comma = ';'
	}
	if style.Mark {
		_, out.err = io.WriteString(w, "\ufeff")
	}
	return out
}

func (w *writer) write(row []string) {
	if w.err == nil {
		w.err = w.csv.Write(row)
	}
}

func (w *writer) close() error {
	w.csv.Flush()
	if w.err == nil {
		w.err = w.csv.Error()
	}
	if w.err != nil {
		return fmt.Errorf("cannot write the CSV: %w; check that the disk has room", w.err)
	}
	return nil
}

func (w *writer) seconds(d time.Duration) string {
	w.number = appendSeconds(w.number[:0], d)
	return w.marked()
}

func (w *writer) value(v float64) string {
	w.number = appendValue(w.number[:0], v)
	return w.marked()
}

// marked gives the number with the decimal mark of the style.
func (w *writer) marked() string {
	if w.style.DecimalComma {
		return strings.Replace(string(w.number), ".", ",", 1)
	}
	return string(w.number)
}

// onOneLine replaces what a terminal could obey by spaces.
func onOneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if prose.Steers(r) {
			return ' '
		}
		return r
	}, s)
}

// appendSeconds writes a time with six decimals.
func appendSeconds(b []byte, d time.Duration) []byte {
	us := d.Microseconds()
	if us < 0 {
		b = append(b, '-')
	}
	whole, part := us/1e6, us%1e6
	b = strconv.AppendUint(b, uint64(max(whole, -whole)), 10)
	b = append(b, '.')
	part = max(part, -part)
	for unit := int64(100_000); unit > 0; unit /= 10 {
		b = append(b, byte('0'+part/unit%10))
	}
	return b
}

// appendValue writes a number so that it reads back the same, without an exponent where
// it has a usual size.
func appendValue(b []byte, v float64) []byte {
	switch size := math.Abs(v); {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return b
	case size == 0 || size >= 1e-6 && size < 1e15:
		return strconv.AppendFloat(b, v, 'f', -1, 64)
	}
	return strconv.AppendFloat(b, v, 'g', -1, 64)
}
