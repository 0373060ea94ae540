package table

import (
	"iter"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/pids"
)

// Grid is a sheet with one column a signal.
type Grid struct {
	Signals []GridColumn
	samples []pids.Sample
	column  map[pids.Sample]int // of a signal of an ECU
	marks   []Mark
	spans   []Span
	step    time.Duration // between rows; 0 for a row at each time of a reading
}

// GridColumn is the column of a signal.
type GridColumn struct {
	Signal pids.Signal
	ECU    string
	Name   string        // the signal, with @ECU where several give it
	Unit   string        // "" when it is not known
	fresh  time.Duration // how long a reading is carried on
}

// GridRow is one row; it is valid until the next.
type GridRow struct {
	At     time.Duration
	Values []float64 // by column; NaN for none
	Mark   string    // what was marked since the row before: felt, or notes
	Event  string    // names of the spans that the row is in
}

// freshFor is how many of a signal's usual steps a reading is carried on, in a grid with a rate.
const freshFor = 3

// NewGrid makes the columns: engine speed first, the others in the order in which they came.
func NewGrid(s *Sheet) *Grid {
	g := &Grid{samples: s.InOrder(), column: map[pids.Sample]int{}, marks: slices.Clone(s.Marks), spans: s.Spans}
	slices.SortStableFunc(g.marks, func(a, b Mark) int { return int(a.At - b.At) })
	if s.Rate > 0 {
		g.step = time.Duration(float64(time.Second) / s.Rate)
	}
	var last []time.Duration
	var steps []stepWatch
	for _, sample := range g.samples {
		key := pids.Sample{ECU: sample.ECU, Signal: sample.Signal}
		i, seen := g.column[key]
		if !seen {
			i = len(g.Signals)
			g.column[key] = i
			g.Signals = append(g.Signals, GridColumn{Signal: sample.Signal, ECU: sample.ECU, Unit: s.UnitOf(sample.Signal)})
			last, steps = append(last, sample.At), append(steps, stepWatch{})
		}
		steps[i].add(sample.At - last[i])
		last[i] = sample.At
	}
	count := map[pids.Signal]int{}
	for i := range g.Signals {
		c := &g.Signals[i]
		count[c.Signal]++
		c.fresh = max(freshFor*steps[i].usual(), g.step)
	}
	for i := range g.Signals {
		c := &g.Signals[i]
		c.Name = onOneLine(string(c.Signal))
		if count[c.Signal] > 1 && c.ECU != "" {
			c.Name += "@" + onOneLine(c.ECU)
		}
	}
	g.engineSpeedFirst()
	return g
}

func (g *Grid) engineSpeedFirst() {
	slices.SortStableFunc(g.Signals, func(a, b GridColumn) int {
		first := func(c GridColumn) int {
			if c.Signal == pids.RPM {
				return 0
			}
			return 1
		}
		return first(a) - first(b)
	})
	for i, c := range g.Signals {
		g.column[pids.Sample{ECU: c.ECU, Signal: c.Signal}] = i
	}
}

// Rows gives the rows in order of time. Without a rate each reading is in one row, with all others of
// that time, and a mark has a row of its own. With a rate a row holds the latest reading of each signal,
// as long as it is no older than three of the signal's usual steps.
func (g *Grid) Rows() iter.Seq[*GridRow] {
	if g.step > 0 {
		return g.atRate
	}
	return g.asRead
}

func (g *Grid) newRow() *GridRow {
	r := &GridRow{Values: make([]float64, len(g.Signals))}
	r.clear()
	return r
}

func (r *GridRow) clear() {
	for i := range r.Values {
		r.Values[i] = math.NaN()
	}
}

// asRead gives a row at each time at which something was read or marked.
func (g *Grid) asRead(yield func(*GridRow) bool) {
	row, marks := g.newRow(), g.marks
	for i := 0; i < len(g.samples) || len(marks) > 0; {
		row.clear()
		row.Mark = ""
		if i == len(g.samples) || len(marks) > 0 && marks[0].At < g.samples[i].At {
			row.At = marks[0].At
		} else {
			row.At = g.samples[i].At
		}
		for ; i < len(g.samples) && g.samples[i].At == row.At; i++ {
			at := g.columnOf(&g.samples[i])
			if !math.IsNaN(row.Values[at]) { // read twice at one time: another row
				break
			}
			row.Values[at] = g.samples[i].Value
		}
		marks = row.take(marks, row.At)
		row.Event = g.event(row.At, row.At)
		if !yield(row) {
			return
		}
	}
}

// atRate gives a row at each multiple of the step.
func (g *Grid) atRate(yield func(*GridRow) bool) {
	if len(g.samples) == 0 {
		return
	}
	row, marks, i := g.newRow(), g.marks, 0
	read := make([]time.Duration, len(g.Signals))
	values := slices.Clone(row.Values)
	from, to := g.samples[0].At, g.samples[len(g.samples)-1].At
	for at := (from + g.step - 1) / g.step * g.step; ; at += g.step {
		for ; i < len(g.samples) && g.samples[i].At <= at; i++ {
			c := g.columnOf(&g.samples[i])
			values[c], read[c] = g.samples[i].Value, g.samples[i].At
		}
		row.clear()
		for c := range values {
			if at-read[c] <= g.Signals[c].fresh {
				row.Values[c] = values[c]
			}
		}
		last := at >= to
		row.At, row.Mark = at, ""
		if last {
			marks = row.take(marks, math.MaxInt64)
		} else {
			marks = row.take(marks, at)
		}
		row.Event = g.event(at-g.step+1, at)
		if !yield(row) || last {
			return
		}
	}
}

func (g *Grid) columnOf(s *pids.Sample) int {
	return g.column[pids.Sample{ECU: s.ECU, Signal: s.Signal}]
}

// take puts the marks up to a time into the row, and gives the others.
func (r *GridRow) take(marks []Mark, to time.Duration) []Mark {
	var words []string
	for len(marks) > 0 && marks[0].At <= to {
		word := feltWord
		if marks[0].Note != "" {
			word = onOneLine(marks[0].Note)
		}
		words = append(words, word)
		marks = marks[1:]
	}
	r.Mark = strings.Join(words, markBetween)
	return marks
}

// event names what lasted at any time between two, both within.
func (g *Grid) event(from, to time.Duration) string {
	var names []string
	for _, s := range g.spans {
		if s.Start <= to && s.End >= from && !slices.Contains(names, s.Name) {
			names = append(names, s.Name)
		}
	}
	return strings.Join(names, markBetween)
}
