package table

import (
	"fmt"
	"slices"
	"strings"

	"github.com/judder-obd/judder/pids"
)

// Names of columns that mean something, as plainName gives them; common words, no source. A unit
// alone may name the time too.
var (
	timeNames = []string{
		"time", "timestamp", "time stamp", "datetime", "date time", "date and time", "clock", "t", "elapsed", "elapsed time",
		"time of day", "utc", "utc time", "local time", "seconds", "sec", "s", "ms", "millis", "milliseconds", "us", "microseconds",
	}
	dateNames   = []string{"date", "day"}
	signalNames = []string{"signal", "parameter", "channel", "name"}
	valueNames  = []string{"value", "reading"}
	ecuNames    = []string{"ecu", "module", "control unit"}
	unitNames   = []string{"unit", "units"}
	markNames   = []string{"mark", "marks", "note", "notes"}
	ownFindings = []string{"event", "events"}
)

// blanks are words for a cell without a reading, in lower case.
var blanks = []string{"", "-", "--", "—", "–", "nan", "n/a", "na", "#n/a", "null", "none", "nil"}

func isBlank(cell string) bool {
	return cell == "" || len(cell) <= len("none") && slices.Contains(blanks, strings.ToLower(cell))
}

// layout finds what each column of a heading is for.
func (c *importing) layout(head []string) error {
	for i, cell := range head {
		h := headingOf(cell)
		c.cols = append(c.cols, Column{Number: i + 1, Heading: h.text, ECU: h.ecu, Unit: h.unit, scale: scale{1, 0}})
		c.heads = append(c.heads, h)
	}
	if err := c.mapped(); err != nil {
		return err
	}
	c.claim(TimeUse, timeNames)
	c.claim(DateUse, dateNames)
	c.claim(NameUse, signalNames)
	c.claim(ValueUse, valueNames)
	c.claim(MarkUse, markNames)
	c.long = c.place[NameUse] >= 0 && c.place[ValueUse] >= 0
	if c.long {
		c.claim(ECUUse, ecuNames)
		c.claim(UnitUse, unitNames)
	}
	if c.place[TimeUse] < 0 {
		c.timeByItself()
	}
	if t := c.place[TimeUse]; t < 0 {
		return c.noTime(head)
	} else if u := unitNamed(c.cols[t].Unit); u != nil && u.into == "s" {
		c.times.unit = u
	} else if u := unitNamed(c.heads[t].text); u != nil && u.into == "s" { // "ms"
		c.times.unit, c.cols[t].Unit = u, u.unit
	}
	c.wide()
	return c.enough(head)
}

// claim gives a use to the first free column that has one of the names; with the long form's own
// names, twice is a fault that enough finds.
func (c *importing) claim(use Use, names []string) {
	if c.place[use] >= 0 {
		return
	}
	for i := range c.cols {
		col := &c.cols[i]
		if col.Use != Unused || col.Why != Used || !slices.Contains(names, plainName(c.heads[i].name)) {
			continue
		}
		if c.place[use] < 0 {
			col.Use, c.place[use] = use, i
		} else if use != MarkUse && c.again == "" {
			c.again = col.Heading
		}
	}
}

// timeByItself takes a date column for the time where there is no other: it may hold both.
func (c *importing) timeByItself() {
	if d := c.place[DateUse]; d >= 0 {
		c.cols[d].Use = TimeUse
		c.place[TimeUse], c.place[DateUse] = d, -1
	}
}

// wide gives the columns that are left to the signals that their headings name.
func (c *importing) wide() {
	taken := map[pids.Sample]bool{}
	for i := range c.cols {
		if col := &c.cols[i]; col.Use == SignalUse { // by the mapping file
			taken[pids.Sample{Signal: col.Signal, ECU: col.ECU}] = true
		}
	}
	for i := range c.cols {
		col, h := &c.cols[i], &c.heads[i]
		if col.Use != Unused || col.Why != Used {
			continue
		}
		switch {
		case c.long:
			col.Why = NotLong
			continue
		case slices.Contains(ownFindings, plainName(h.name)):
			col.Why = Findings
			continue
		case plainName(h.name) == "" || !plainText(h.text):
			col.Why = BadName
			continue
		}
		col.Signal, col.Known = signalNamed(h.name)
		key := pids.Sample{Signal: col.Signal, ECU: col.ECU}
		var fits bool
		col.Own = unitOf(col.Signal)
		col.scale, fits = conversion(col.Unit, col.Own)
		switch {
		case !col.Known:
			col.Signal, col.Unit, col.Own, col.scale = pids.Signal(h.text), "", "", scale{1, 0}
			col.Use = SignalUse
		case !fits:
			col.Why = BadUnit
		case taken[key]:
			col.Why = Twice
		default:
			col.Use = SignalUse
			taken[key] = true
		}
	}
}

// enough reports what is missing, or there twice.
func (c *importing) enough(head []string) error {
	found := strings.Join(head, string(c.src.comma))
	signals := slices.ContainsFunc(c.cols, func(col Column) bool { return col.Use == SignalUse })
	switch {
	case c.long && c.again != "":
		return c.fault(c.again, "", ErrHeader, "name each column once")
	case c.long || signals:
		return nil
	case len(head) == 1:
		return c.oneColumn(found)
	case c.place[NameUse] >= 0 || c.place[ValueUse] >= 0:
		return c.fault("", found, ErrHeader, "one reading a row needs the columns time_s, signal and value; one column a signal needs signals in the heading, such as RPM")
	}
	next := "name the columns by their signals, such as RPM or engine speed (rpm), or give a mapping file with --map"
	if bad := slices.IndexFunc(c.cols, func(col Column) bool { return col.Why == BadUnit }); bad >= 0 {
		col := &c.cols[bad]
		next = fmt.Sprintf("the unit %q of %s is not one that is known here: %s", shorten(col.Unit), col.Signal, unitsFor(col.Own))
	}
	return c.fault("", found, ErrNothing, next)
}

func (c *importing) noTime(head []string) error {
	found := strings.Join(head, string(c.src.comma))
	switch {
	case len(head) == 1:
		return c.oneColumn(found)
	case !slices.ContainsFunc(head, func(s string) bool { return plainName(s) != "" && strings.Trim(s, "0123456789+-.,eE: ") != "" }):
		return c.fault("", found, ErrHeader, "the first line must name the columns, such as time_s,RPM,VSS or time_s,signal,value")
	}
	return c.fault("", found, ErrNoTime, "name the column time_s, time_ms or time, or give a mapping file with --map")
}

func (c *importing) oneColumn(found string) error {
	return c.fault("", found, ErrHeader, "there is one column: the first line names the columns, time and signals, with commas, semicolons or tabs between them")
}
