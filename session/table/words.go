package table

import (
	"fmt"
	"strings"
	"time"

	"github.com/judder-obd/judder/pids"
)

// words are the names in the rows of the long form, each looked up once.
type words struct {
	signals map[string]named
	ecus    map[string]string
	units   map[[2]string]scale
	last    map[pids.Sample]time.Duration // by ECU and signal: latest time
}

// named is what a name in a row stands for.
type named struct {
	signal    pids.Signal
	ecu, unit string // by the mapping file; "" otherwise
}

func newWords() words {
	return words{map[string]named{}, map[string]string{}, map[[2]string]scale{}, map[pids.Sample]time.Duration{}}
}

// signal gives the signal of a name.
func (c *importing) signal(name string) (named, error) {
	if n, ok := c.words.signals[name]; ok {
		return n, nil
	}
	if name == "" || !plainText(name) {
		return named{}, c.fault(c.cols[c.place[NameUse]].Heading, name, ErrText, "give the acronym of SAE J1979, such as RPM, without control characters")
	}
	name = strings.Clone(name) // not the whole row
	n := named{signal: pids.Signal(name)}
	if m := c.mapping.column(name); m != nil && !m.Ignore {
		n = named{m.signal(), m.ECU, m.Unit}
	} else if _, _, known := pids.About(n.signal); !known {
		if s, known := signalNamed(name); known {
			c.note("line %d: signal %q taken as %s", c.line, name, s)
			n.signal = s
		} else {
			c.note("line %d: signal %q is not known here: it is kept under this name and not used", c.line, name)
		}
	}
	c.words.signals[name] = n
	return n, nil
}

// ecu checks the name of an ECU, which may be empty.
func (c *importing) ecu(name string) (string, error) {
	if s, ok := c.words.ecus[name]; ok {
		return s, nil
	}
	if !plainText(name) {
		return "", c.fault(c.cols[c.place[ECUUse]].Heading, name, ErrText, "give the ECU's address, such as 7E8, without control characters")
	}
	name = strings.Clone(name)
	c.words.ecus[name] = name
	return name, nil
}

// unit gives the conversion from the unit of a row into that of a signal in the table of parameters.
func (c *importing) unit(s pids.Signal, unit string) (scale, error) {
	key := [2]string{string(s), unit}
	if found, ok := c.words.units[key]; ok {
		return found, nil
	}
	own := unitOf(s)
	found, ok := conversion(fromLatin1(unit), own)
	if !ok {
		return scale{}, c.fault(c.cols[c.place[UnitUse]].Heading, unit, ErrUnit, fmt.Sprintf("%s is in %s, and can be converted from: %s", s, own, unitsFor(own)))
	}
	if found != (scale{1, 0}) {
		c.note("line %d: %s is converted from %s into %s", c.line, s, unit, own)
	}
	key[1] = strings.Clone(unit)
	c.words.units[key] = found
	return found, nil
}
