package table

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
)

// Mapping says what the headings of a file mean, where they are other names. In the long form the
// names are those in the column of signals.
type Mapping struct {
	Time    *MappedTime    `toml:"time"`
	Columns []MappedColumn `toml:"column"`
	file    string
}

// MappedTime is the column with the time.
type MappedTime struct {
	Heading string `toml:"heading"`
	Unit    string `toml:"unit"` // of a number; "" for wall clock times and seconds
	Date    string `toml:"date"` // heading of a column with the date; "" for none
}

// MappedColumn is a column with a signal, or one to be left out.
type MappedColumn struct {
	Heading string `toml:"heading"`
	Signal  string `toml:"signal"`
	Unit    string `toml:"unit"` // what the values are in; "" for the signal's own, or the heading's
	ECU     string `toml:"ecu"`
	Ignore  bool   `toml:"ignore"`
}

// signal is the signal that a mapped column holds: one of the standard, or a name of its own.
func (m *MappedColumn) signal() pids.Signal {
	if s, known := signalNamed(m.Signal); known {
		return s
	}
	return pids.Signal(m.Signal)
}

// ParseMapping reads a mapping file. The error names the file, and the line where it can.
func ParseMapping(file string, text []byte) (*Mapping, error) {
	m := &Mapping{file: file}
	err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(m)
	var unknown *toml.StrictMissingError
	var fault *toml.DecodeError
	switch {
	case errors.As(err, &unknown) && len(unknown.Errors) > 0:
		line, _ := unknown.Errors[0].Position()
		return nil, m.fault(line, strings.Join(unknown.Errors[0].Key(), "."), "no such key: [time] has heading, unit, date; [[column]] has heading, signal, unit, ecu, ignore")
	case errors.As(err, &fault):
		line, _ := fault.Position()
		return nil, m.fault(line, "", strings.TrimPrefix(fault.Error(), "toml: "))
	case err != nil:
		return nil, m.fault(0, "", err.Error())
	}
	if t := m.Time; t != nil {
		if u := unitNamed(t.Unit); t.Heading == "" {
			return nil, m.fault(0, "[time]", "heading is missing: write the name of the column")
		} else if t.Unit != "" && (u == nil || u.into != "s") {
			return nil, m.fault(0, t.Unit, "a time is in s, ms, µs, ns, min or h; leave unit out for wall clock times")
		}
	}
	for i := range m.Columns {
		if err := m.check(&m.Columns[i]); err != nil {
			return nil, err
		}
	}
	return m, nil
}

func (m *Mapping) check(c *MappedColumn) error {
	switch {
	case c.Heading == "":
		return m.fault(0, "[[column]]", "heading is missing: write the name of the column")
	case c.Signal == "" && !c.Ignore:
		return m.fault(0, c.Heading, `signal is missing: write an acronym such as "RPM", a name of your own, or ignore = true`)
	case !plainText(c.Signal) || !plainText(c.ECU):
		return m.fault(0, c.Heading, "signal and ecu are plain names, without control characters")
	}
	own := unitOf(c.signal())
	if _, ok := conversion(c.Unit, own); !ok {
		return m.fault(0, c.Heading, fmt.Sprintf("%s is in %s, and can be converted from: %s", c.signal(), own, unitsFor(own)))
	}
	return nil
}

func (m *Mapping) fault(line int, found, what string) error {
	return &Error{File: m.file, Line: line, Found: found, Err: ErrMapping, Next: prose.Clean(what)}
}

// column finds what is said of a heading; nil for nothing.
func (m *Mapping) column(heading string) *MappedColumn {
	if m == nil {
		return nil
	}
	i := slices.IndexFunc(m.Columns, func(c MappedColumn) bool { return sameHeading(c.Heading, heading) })
	if i < 0 {
		return nil
	}
	return &m.Columns[i]
}

func sameHeading(a, b string) bool {
	return strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b))
}

// mapped gives the columns that the mapping file names their use.
func (c *importing) mapped() error {
	m := c.mapping
	if m == nil {
		return nil
	}
	if m.Time != nil {
		if err := c.mapTime(); err != nil {
			return err
		}
	}
	long := c.hasNames(signalNames) && c.hasNames(valueNames) // its names are in the rows
	for i := range m.Columns {
		want := &m.Columns[i]
		at := c.headed(want.Heading)
		switch {
		case at < 0 && long:
			continue
		case at < 0:
			return c.notHeaded(want.Heading)
		}
		col := &c.cols[at]
		col.Mapped = true
		if want.Ignore {
			col.Why = Ignored
			continue
		}
		col.Use, col.Signal, col.ECU = SignalUse, want.signal(), want.ECU
		_, _, col.Known = pids.About(col.Signal)
		if want.Unit != "" {
			col.Unit = want.Unit
		}
		col.Own = unitOf(col.Signal)
		var fits bool
		if col.scale, fits = conversion(col.Unit, col.Own); !fits {
			return c.fault(want.Heading, col.Unit, ErrUnit, fmt.Sprintf("say in the mapping file which it is: %s", unitsFor(col.Own)))
		}
	}
	return nil
}

// mapTime takes the columns of time and date from the mapping file.
func (c *importing) mapTime() error {
	want := c.mapping.Time
	at := c.headed(want.Heading)
	if at < 0 {
		return c.notHeaded(want.Heading)
	}
	c.cols[at].Use, c.cols[at].Mapped, c.place[TimeUse] = TimeUse, true, at
	if want.Unit != "" {
		c.cols[at].Unit = want.Unit
	}
	if want.Date == "" {
		return nil
	}
	if at = c.headed(want.Date); at < 0 {
		return c.notHeaded(want.Date)
	}
	c.cols[at].Use, c.cols[at].Mapped, c.place[DateUse] = DateUse, true, at
	return nil
}

func (c *importing) headed(heading string) int {
	return slices.IndexFunc(c.cols, func(col Column) bool { return sameHeading(col.Heading, heading) })
}

func (c *importing) hasNames(names []string) bool {
	return slices.ContainsFunc(c.heads, func(h heading) bool { return slices.Contains(names, plainName(h.name)) })
}

func (c *importing) notHeaded(heading string) error {
	var there []string
	for i := range c.cols {
		there = append(there, fmt.Sprintf("%q", shorten(c.cols[i].Heading)))
	}
	return c.fault("", heading, ErrMapping, "it names a column that is not there; there are "+strings.Join(there[:min(len(there), 20)], ", "))
}
