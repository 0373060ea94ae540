package cli

import (
	"fmt"
	"strconv"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session/table"
)

// importWords say what a table was taken for: its form, its times, each column, and what deserves a
// second look.
func importWords(t *table.Imported) []string {
	lines := []string{formWords(t), timeWords(t)}
	further := 0
	for i := range t.Columns {
		c := &t.Columns[i]
		switch {
		case c.Use == table.TimeUse, t.Long && c.Use != table.Unused:
		case i >= mostColumns:
			further++
		default:
			lines = append(lines, columnWords(c))
		}
	}
	if further > 0 {
		lines = append(lines, fmt.Sprintf("and %d columns more", further))
	}
	if t.Long {
		lines = append(lines, rowWords(t)...)
	}
	lines = append(lines, t.Notes...)
	return append(lines, doubts(t)...)
}

// rowWords say which signals the rows of the long form hold, in the order in which they came.
func rowWords(t *table.Imported) []string {
	count := map[pids.Signal]int{}
	var order []pids.Signal
	for i := range t.Samples {
		s := t.Samples[i].Signal
		if count[s] == 0 {
			order = append(order, s)
		}
		count[s]++
	}
	var lines []string
	for _, s := range order[:min(len(order), mostColumns)] {
		words := string(s) + ", kept under this name; judder does not use it"
		if name, unit, known := pids.About(s); known {
			words = string(s) + ", " + name
			if unit != "" {
				words += ", " + unit
			}
		}
		lines = append(lines, fmt.Sprintf("signal %s, %s", words, prose.Count(count[s], "reading", "readings")))
	}
	if n := len(order) - mostColumns; n > 0 {
		lines = append(lines, fmt.Sprintf("and %d signals more", n))
	}
	return lines
}

// mostColumns is how many columns or signals get a line.
const mostColumns = 100

var (
	separatorNames = map[rune]string{',': "commas", ';': "semicolons", '\t': "tabs", '|': "bars"}
	markNames      = map[rune]string{0: "no decimals", '.': "decimal point", ',': "decimal comma"}
)

func formWords(t *table.Imported) string {
	form := "one column a signal"
	if t.Long {
		form = "one reading a row"
	}
	return fmt.Sprintf("%s, %s between the columns, %s, %d rows", form, separatorNames[t.Separator], markNames[t.Decimals], t.Rows)
}

// timeWords say how times were understood, and how long they go on.
func timeWords(t *table.Imported) string {
	from, to := t.Samples[0].At, t.Samples[len(t.Samples)-1].At
	length := ", " + prose.Duration(to-from) + " long"
	var words string
	for _, c := range t.Columns {
		if c.Use == table.TimeUse {
			words = fmt.Sprintf("column %d %s: time, ", c.Number, strconv.Quote(c.Heading))
		}
	}
	switch t.Time {
	case table.Elapsed:
		unit := t.TimeUnit
		if unit == "" {
			unit = "seconds, for the heading has no unit"
		}
		return words + "in " + unit + length
	case table.Unix:
		return words + "since 1970, from " + t.Start.Format(time.RFC3339) + length
	case table.DateTime:
		if t.Start.IsZero() {
			return words + "date and time; day or month may come first, so the date is not kept" + length
		}
		zone := ""
		if !t.Zoned {
			zone = ", taken as this computer's time zone"
		}
		return words + "date and time, from " + t.Start.Format(time.RFC3339) + zone + length
	}
	words += "time of day" + length
	if t.Midnights > 0 {
		words += ", past midnight or the full hour"
	}
	return words
}

// useWords are what a column is for, where it holds no signal.
var useWords = map[table.Use]string{
	table.DateUse: "date", table.NameUse: "names of the signals", table.ValueUse: "values",
	table.ECUUse: "control units", table.UnitUse: "units", table.MarkUse: "marks and notes",
}

// whyWords are why a column is not used.
var whyWords = map[table.Why]string{
	table.Ignored:  "the mapping file leaves it out",
	table.Findings: "what happened is found again in the readings",
	table.BadName:  "it has no plain name",
	table.Empty:    "it is empty",
	table.NotLong:  "it has no meaning where each row is one reading",
}

// columnWords say what became of a column.
func columnWords(c *table.Column) string {
	at := fmt.Sprintf("column %d %s: ", c.Number, strconv.Quote(c.Heading))
	switch c.Use {
	case table.SignalUse:
		return at + signalWords(c)
	case table.Unused:
		return at + "not used: " + unusedWords(c)
	}
	return at + useWords[c.Use]
}

func unusedWords(c *table.Column) string {
	switch c.Why {
	case table.Twice:
		return fmt.Sprintf("an earlier column holds %s; --map can choose another", c.Signal)
	case table.BadUnit:
		return fmt.Sprintf("%s in %q cannot be converted into %s; --map can name the unit", c.Signal, c.Unit, c.Own)
	case table.NoNumber:
		return fmt.Sprintf("no cell is a number; line %d has %q", c.Line, c.First)
	}
	return whyWords[c.Why]
}

// signalWords say what signal a column holds, in which unit, and how many readings.
func signalWords(c *table.Column) string {
	words := string(c.Signal)
	if name, _, known := pids.About(c.Signal); known {
		words += ", " + name
	} else {
		words = "kept under this name; judder does not use it"
	}
	if c.ECU != "" {
		words += " of " + c.ECU
	}
	switch {
	case c.Converted():
		words += fmt.Sprintf(", converted from %s into %s", c.Unit, c.Own)
	case c.Unit == "" && c.Own != "":
		words += ", taken as " + c.Own
	case c.Own != "":
		words += ", " + c.Own
	}
	words += ", " + prose.Count(c.Readings, "reading", "readings")
	switch {
	case c.Text == 1:
		words += fmt.Sprintf("; left out %q in line %d: no number", c.First, c.Line)
	case c.Text > 1:
		words += fmt.Sprintf("; left out %d cells that hold no number, the first is %q in line %d", c.Text, c.First, c.Line)
	}
	return words
}

// heldFrom is the share of readings that repeat the one before, from which on a file is thought to hold
// them: a running engine's speed seldom comes twice.
const heldFrom = 0.45

// slowestRunning is an engine speed that every engine exceeds, rpm (a starter turns it faster; common
// practice, no source).
const slowestRunning = 100

// straightWords say that engine speed was computed from row to row, and what is left of it.
func straightWords(s table.Straight) string {
	of := ""
	if s.ECU != "" {
		of = " of " + s.ECU
	}
	return fmt.Sprintf("engine speed%s: %d rows, %s, lie on straight lines between %d readings, %s: the file was interpolated; only the readings are kept",
		of, s.Rows, rateWords(s.RowEvery), s.Kept, rateWords(s.Every))
}

// rateWords are a rate, by the time from one to the next.
func rateWords(every time.Duration) string {
	return fmt.Sprintf("about %.2g a second", 1/every.Seconds())
}

// doubts are what makes the result of a drive less sure than it looks.
func doubts(t *table.Imported) []string {
	var lines []string
	if t.CutLine > 0 {
		lines = append(lines, fmt.Sprintf("line %d is cut off and left out", t.CutLine))
	}
	if n := t.SameTime; n > t.Rows/10 {
		lines = append(lines, fmt.Sprintf("%d of %d rows have the time of the row before: a swing cannot be placed; write times with milliseconds", n, t.Rows))
	}
	for _, s := range t.Straight {
		lines = append(lines, straightWords(s))
	}
	rpm, highest := false, 0.0
	for i := range t.Samples {
		if s := &t.Samples[i]; s.Signal == pids.RPM {
			rpm, highest = true, max(highest, s.Value)
		}
	}
	switch {
	case !rpm:
		lines = append(lines, "no column holds engine speed (RPM): shudder cannot be looked for; if one does under another heading, give a mapping file with --map (docs/tables.md)")
	case highest > 0 && highest < slowestRunning:
		lines = append(lines, fmt.Sprintf("engine speed is never above %.4g rpm: look at its unit, and at marks between thousands", highest))
	}
	for i := range t.Columns {
		if c := &t.Columns[i]; c.Use == table.SignalUse && c.Signal == pids.RPM && float64(c.Same) > heldFrom*float64(c.Readings) {
			lines = append(lines, fmt.Sprintf("%d of %d readings of engine speed repeat the one before: the file may hold each until the next, and fewer were made than it seems; --held takes each once", c.Same, c.Readings))
		}
	}
	return lines
}
