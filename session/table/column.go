package table

import (
	"slices"
	"time"

	"github.com/judder-obd/judder/pids"
)

// Use is what a column was taken for.
type Use uint8

// The uses.
const (
	Unused    Use = iota
	TimeUse       // the time of the row
	DateUse       // the date of the row
	SignalUse     // one signal, a reading in each row
	NameUse       // the long form: which signal a row is of
	ValueUse      // the long form: its value
	ECUUse        // the long form: which control unit gave it
	UnitUse       // the long form: its unit
	MarkUse       // what the user marked: "felt", or a note
)

// Why is why a column was not used.
type Why uint8

// The reasons.
const (
	Used     Why = iota
	Ignored      // the mapping file says so
	Findings     // what judder found itself; it looks again
	Twice        // an earlier column holds the same signal
	BadUnit      // the unit is not one of the signal's
	BadName      // the heading is empty or holds control characters
	Empty        // no cell has anything in it
	NoNumber     // no cell holds a number
	NotLong      // the file has a column for each signal, so a column of names or units means nothing
)

// Column is a column of an imported file, and what was made of it.
type Column struct {
	Number  int    // from 1
	Heading string // as it is written
	Use     Use
	Why     Why
	Signal  pids.Signal // of SignalUse; also where Why is Twice or BadUnit
	Known   bool        // the signal is in the table of parameters
	ECU     string
	Unit    string // of the column, as it is written; "" when the heading has none
	Own     string // unit of the signal; "" when it is not known
	Mapped  bool   // by the mapping file

	Readings int
	Same     int    // readings, not 0, that are the one before once more
	Blank    int    // cells that hold nothing, or a word for it
	Text     int    // cells that hold something else than a number, and were left out
	First    string // the first of them
	Line     int    // where that is

	scale scale
	last  float64 // number that was read last
}

// Converted reports whether the values were converted from the column's unit into the signal's.
func (c *Column) Converted() bool { return c.scale != (scale{1, 0}) }

// Mark is what the user marked in a drive.
type Mark struct {
	At   time.Duration
	Note string // "" for a felt mark
}

// Imported is what a file holds.
type Imported struct {
	Samples   []pids.Sample // in order of time
	Marks     []Mark
	Start     time.Time // wall clock at time 0; zero when the file does not say it
	Zoned     bool      // the file says in which time zone
	Separator rune
	Decimals  rune // the decimal mark, '.' or ','; 0 where there is none
	Long      bool // one reading a row; else one column a signal
	Rows      int
	Columns   []Column
	Time      TimeForm
	TimeUnit  string     // of Elapsed and Unix, as the heading has it; "" when it was assumed
	Midnights int        // how often the clock began again
	SameTime  int        // rows with the time of the row before (not in the long form)
	CutLine   int        // line of a last row that is cut off and was left out; 0 for none
	Straight  []Straight // engine speed that was computed from row to row: only what was read is in Samples
	Notes     []string
}

// How several marks of one row are written.
const (
	feltWord    = "felt"
	markBetween = "; "
)

// OnlyChanges leaves out readings of a signal that repeat the one before. A file with a row at fixed
// times may hold each reading until the next, which looks like many more readings than there were.
func OnlyChanges(samples []pids.Sample, signal pids.Signal) []pids.Sample {
	last := map[string]float64{}
	return slices.DeleteFunc(samples, func(s pids.Sample) bool {
		if s.Signal != signal {
			return false
		}
		v, seen := last[s.ECU]
		last[s.ECU] = s.Value
		return seen && v == s.Value && v != 0
	})
}
