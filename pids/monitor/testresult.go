// Package monitor reads the results of an ECU's on-board monitors: service 06 of SAE J1979.
package monitor

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/judder-obd/judder/pids"
)

// Outcome is what a test result comes to.
type Outcome uint8

// The outcomes.
const (
	Passed  Outcome = iota
	Failed          // outside its limits
	NotRun          // not since codes were cleared; this is no pass
	Unknown         // its scaling is unknown, and so is its unit
)

var outcomeWords = [...]string{Passed: "passed", Failed: "failed", NotRun: "not run", Unknown: "unknown"}

// String is the outcome in words.
func (o Outcome) String() string {
	if int(o) >= len(outcomeWords) {
		return outcomeWords[Unknown]
	}
	return outcomeWords[o]
}

// Result is one result of service 06 on CAN (SAE J1979).
type Result struct {
	Monitor, Test, Scaling byte
	Value, Min, Max        float64
	Unit                   string
	Outcome                Outcome
	Raw                    [6]byte // value, minimum, maximum
}

const (
	resultSize = 9    // monitor, test, scaling, three values of two bytes
	mapEvery   = 0x20 // monitors 00, 20 … E0 are maps of what is supported
)

// ParseResults reads a reply to service 06 on CAN, 46 first: records of nine bytes, of one
// monitor or of several. Values and limits are compared as signed or unsigned numbers, as
// their scaling has it. Three zeros are a test that has not run. The error is a
// *pids.DataError: ErrOther, ErrShort, ErrRecord; the results before it are given.
func ParseResults(reply []byte) ([]Result, error) {
	switch {
	case len(reply) == 0 || reply[0] != 0x46:
		return nil, pids.NewDataError("test results", 0, pids.ErrOther)
	case len(reply) == 1:
		return nil, pids.NewDataError("test results", 1, pids.ErrShort)
	}
	var out []Result
	at := 1
	for ; at+resultSize <= len(reply); at += resultSize {
		if reply[at]%mapEvery == 0 {
			return out, pids.NewDataError("test results", at, pids.ErrOther) // a map of monitors, no result
		}
		out = append(out, testResult(reply[at:at+resultSize]))
	}
	if at != len(reply) {
		return out, pids.NewDataError("test results", at, pids.ErrRecord)
	}
	return out, nil
}

func testResult(r []byte) Result {
	t := Result{Monitor: r[0], Test: r[1], Scaling: r[2]}
	copy(t.Raw[:], r[3:9])
	s, known := scalings[t.Scaling]
	if !known {
		s = scaling{per: 1}
	}
	value, low, high := rawValue(r[3:5], t.Scaling), rawValue(r[5:7], t.Scaling), rawValue(r[7:9], t.Scaling)
	t.Value, t.Min, t.Max, t.Unit = value*s.per+s.offset, low*s.per+s.offset, high*s.per+s.offset, s.unit
	switch {
	case value == 0 && low == 0 && high == 0:
		t.Outcome = NotRun
	case !known:
		t.Outcome = Unknown
	case value < low || value > high:
		t.Outcome = Failed
	}
	return t
}

// rawValue reads two bytes; ids from 80 up are signed.
func rawValue(b []byte, id byte) float64 {
	n := uint16(b[0])<<8 | uint16(b[1])
	if id >= 0x80 {
		return float64(int16(n))
	}
	return float64(n)
}

// monitorRuns name the monitors of service 06 (SAE J1979-DA as a general packet library
// tabulates them); "#" is the place in the run.
var monitorRuns = []struct {
	first, last byte
	name        string
}{
	{0x01, 0x10, "oxygen sensor, bank #"}, {0x21, 0x24, "catalyst, bank #"}, {0x31, 0x34, "exhaust gas recirculation, bank #"},
	{0x35, 0x38, "variable valve timing, bank #"}, {0x39, 0x39, "evaporative system, cap off"}, {0x3A, 0x3A, "evaporative system, 0.090 inch"},
	{0x3B, 0x3B, "evaporative system, 0.040 inch"}, {0x3C, 0x3C, "evaporative system, 0.020 inch"}, {0x3D, 0x3D, "purge flow"},
	{0x41, 0x50, "oxygen sensor heater, bank #"}, {0x61, 0x64, "heated catalyst, bank #"}, {0x71, 0x74, "secondary air #"},
	{0x81, 0x84, "fuel system, bank #"}, {0x85, 0x86, "boost pressure, bank #"}, {0x90, 0x91, "NOx adsorber, bank #"}, {0x98, 0x99, "NOx catalyst, bank #"},
	{0xA1, 0xA1, "misfire, all cylinders"}, {0xA2, 0xAD, "misfire, cylinder #"}, {0xB0, 0xB1, "particulate filter, bank #"},
}

// A run of sixteen is of four banks with four sensors each, sensors of bank 1 first.
const (
	banks   = 4
	sensors = 4
)

// Name is what a monitor of service 06 watches.
func Name(id byte) string {
	for _, m := range monitorRuns {
		if id < m.first || id > m.last {
			continue
		}
		place := int(id - m.first)
		if m.last-m.first+1 == banks*sensors {
			return fmt.Sprintf("%s sensor %d", nth(m.name, place/sensors), place%sensors+1)
		}
		return nth(m.name, place)
	}
	if id >= 0xE1 {
		return fmt.Sprintf("maker's monitor %02X", id)
	}
	return fmt.Sprintf("monitor %02X", id)
}

// nth is the name of a monitor at a place in its run, from 0.
func nth(name string, place int) string { return strings.Replace(name, "#", strconv.Itoa(place+1), 1) }

// testIDNames are the tests that the standard numbers (SAE J1979; 0B and 0C also in service
// manuals: the average is weighted, a tenth this drive cycle, nine tenths before).
var testIDNames = map[byte]string{
	0x01: "rich to lean threshold", 0x02: "lean to rich threshold", 0x03: "low voltage for switch time", 0x04: "high voltage for switch time",
	0x05: "rich to lean switch time", 0x06: "lean to rich switch time", 0x07: "minimum voltage", 0x08: "maximum voltage",
	0x09: "time between transitions", 0x0A: "sensor period",
	0x0B: "average of the last ten drive cycles", 0x0C: "this or the last drive cycle",
}

// TestName is what a test of service 06 measures; a maker's own has its number, from 80 on.
func TestName(id byte) string {
	switch name := testIDNames[id]; {
	case name != "":
		return name
	case id < 0x80:
		return fmt.Sprintf("test %02X", id)
	}
	return fmt.Sprintf("maker's test %02X", id)
}
