package table

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
)

// number reads a cell as a finite decimal number.
func (c *importing) number(row []string, col int) (float64, error) {
	text, name := c.cell(row, col), columns[col]
	v, err := strconv.ParseFloat(text, 64)
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return 0, c.fault(name, text, ErrFinite, "take the line out, or give the number that was read")
	case err == nil && strings.Trim(text, "0123456789+-.eE") == "":
		return v, nil
	case text == "":
		return 0, c.fault(name, "", ErrNumber, "the cell is empty: take the line out, or give the number that was read")
	case isDecimalComma(text):
		return 0, c.fault(name, text, ErrDecimal, "write it with a decimal point")
	}
	return 0, c.fault(name, text, ErrNumber, "give a decimal number without a unit")
}

// isDecimalComma reports whether text is like "12,5".
func isDecimalComma(text string) bool {
	if strings.Count(text, ",") != 1 {
		return false
	}
	_, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	return err == nil
}

// signal gives the signal of a name.
func (c *importing) signal(name string) (pids.Signal, error) {
	if s, ok := c.names[name]; ok {
		return s, nil
	}
	if name == "" || !plainText(name) {
		return "", c.fault("signal", name, ErrText, "give the acronym of SAE J1979, such as RPM, without control characters")
	}
	name = strings.Clone(name) // not the whole row
	s := pids.Signal(name)
	if _, _, known := pids.About(s); !known {
		upper := pids.Signal(strings.ToUpper(name))
		if _, _, known := pids.About(upper); known {
			c.note("line %d: signal %q taken as %s", c.line, name, upper)
			s = upper
		} else {
			c.note("line %d: signal %q is not known here: it is kept and not used", c.line, name)
		}
	}
	c.names[name] = s
	return s, nil
}

// ecu checks the name of an ECU, which may be empty.
func (c *importing) ecu(name string) (string, error) {
	if s, ok := c.ecus[name]; ok {
		return s, nil
	}
	if !plainText(name) {
		return "", c.fault("ecu", name, ErrText, "give the ECU's address, such as 7E8, without control characters")
	}
	name = strings.Clone(name)
	c.ecus[name] = name
	return name, nil
}

// plainText refuses what must not reach a terminal.
func plainText(s string) bool {
	return utf8.ValidString(s) && !strings.ContainsFunc(s, prose.Steers)
}

// unit checks the unit of a signal that is in the table of parameters.
func (c *importing) unit(s pids.Signal, unit string) error {
	own := unitOf(s)
	if unit == "" || own == "" || c.units[[2]string{string(s), unit}] {
		return nil
	}
	if !sameUnit(unit, own) {
		return c.fault("unit", unit, ErrUnit, fmt.Sprintf("%s is in %s: convert the values and say so in the column", s, own))
	}
	c.units[[2]string{string(s), strings.Clone(unit)}] = true
	return nil
}
