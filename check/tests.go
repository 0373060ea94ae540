package check

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"judder/obd"
	"judder/pids"
	"judder/pids/monitor"
)

// tests reads the results of service 06, monitor by monitor as each computer supports it
// (SAE J1979).
func (c *reader) tests() error {
	switch {
	case c.successor:
		const why = "not asked of a car after SAE J1979-2: how it tells them is not known here"
		c.note("", "test results and misfire counts", why)
		c.testState(why)
		return nil
	case !c.can:
		c.note("", "misfire counts", "not told on this bus: they came with CAN")
		return c.legacyTests()
	}
	supported, err := c.supports("test results", func(base byte) string { return obd.Request(0x06, base) }, func(base byte, data []byte) []byte {
		if len(data) < 6 || data[1] != base {
			return nil
		}
		return data[2:6]
	})
	c.testState("")
	if err != nil {
		return err
	}
	for id := range 256 {
		c.progress("test results", id, 256)
		if id%0x20 == 0 || !supported.any(byte(id)) {
			continue
		}
		what := fmt.Sprintf("test results of monitor %02X", id)
		if err := c.each(what, obd.Request(0x06, byte(id)), due{maps: supported, id: byte(id)}, func(e *ECU, data []byte) error {
			results, err := monitor.ParseResults(data)
			for i := range results {
				e.Tests = append(e.Tests, testResult(&results[i]))
			}
			return err
		}); err != nil {
			return err
		}
		c.testsMissed(what, supported, byte(id))
	}
	return nil
}

// testState says of every computer, once the maps are read, whether its test results can be read
// whole.
func (c *reader) testState(why string) {
	for i := range c.r.ECUs {
		if e := &c.r.ECUs[i]; !e.further() {
			e.TestState = cmp.Or(why, c.lostMaps[e.ID], ListRead)
			if strings.HasSuffix(e.TestState, noMap) && !e.testsItself() {
				e.TestState = ListRead // who has no results is silent (SAE J1979), and was asked twice
			}
		}
	}
}

// testsItself tells whether a computer has self-tests whose results service 06 tells: not that of
// its components alone, which has none.
func (e *ECU) testsItself() bool {
	return slices.ContainsFunc(e.Readiness, func(m Monitor) bool { return m.Name != "components" })
}

// noMap is what becomes of a question for a first map that was not answered.
const noMap = "no answer; whether it tells any is not known"

// testsMissed names the computers that claim a test and did not tell its results whole.
func (c *reader) testsMissed(what string, supported supportMaps, id byte) {
	for ecu, became := range c.missed(what, due{maps: supported, id: id}) {
		c.r.ecu(ecu).TestState = what + ": " + became
	}
}

// missed is what became of those that claim something and did not tell it whole. Silence is
// noted; the rest is so already.
func (c *reader) missed(what string, d due) map[string]string {
	silent := c.silentTo(d, c.became)
	for _, ecu := range silent {
		c.note(ecu, what, silentToClaim)
	}
	out := map[string]string{}
	for i := range c.r.ECUs {
		ecu := c.r.ECUs[i].ID
		if !d.maps.of(ecu, d.id) && (!c.r.Nameless || !d.maps.any(d.id)) {
			continue
		}
		became := cmp.Or(c.became[ecu], c.became[""], silentToClaim)
		if slices.Contains(silent, ecu) {
			became = silentToClaim
		}
		if became != ListRead && became != NotSupported {
			out[ecu] = became
		}
	}
	return out
}

// silentToClaim is what becomes of a question that a computer claims to answer and does not.
const silentToClaim = "no answer, though it is supported"

// silentTo are the computers that claim something and said nothing when they were asked for it;
// none when what came cannot be told apart.
func (c *reader) silentTo(d due, became map[string]string) (who []string) {
	switch lost := became[""]; {
	case lost != "" && lost != ListRead, lost != "" && !c.r.Nameless:
		return nil
	case c.r.Nameless && c.answers < c.owed(d):
		return []string{""}
	case c.r.Nameless:
		return nil
	}
	for _, ecu := range slices.Sorted(maps.Keys(d.maps)) {
		if d.maps.of(ecu, d.id) && became[ecu] == "" {
			who = append(who, ecu)
		}
	}
	return who
}

// legacyTests reads the results of service 06 on the older buses, where tests, scaling and
// sign are the maker's: they are kept raw, and not judged.
func (c *reader) legacyTests() error {
	supported, err := c.supports("test results", func(base byte) string { return obd.Request(0x06, base) }, func(base byte, data []byte) []byte {
		if len(data) < 6 || data[1] != base {
			return nil
		}
		return data[len(data)-4:] // a filling byte may stand before them
	})
	c.testState("")
	if err != nil {
		return err
	}
	for test := range 256 {
		if test%0x20 == 0 || !supported.any(byte(test)) {
			continue
		}
		what := fmt.Sprintf("test %02X", test)
		if err := c.each(what, obd.Request(0x06, byte(test)), due{maps: supported, id: byte(test)}, func(e *ECU, data []byte) error {
			t, err := monitor.ParseLegacyResult(data)
			if err == nil {
				e.Tests = append(e.Tests, legacyResult(&t, data))
			}
			return err
		}); err != nil {
			return err
		}
		c.testsMissed(what, supported, byte(test))
	}
	return nil
}

func legacyResult(t *monitor.LegacyResult, data []byte) TestResult {
	r := TestResult{Monitor: fmt.Sprintf("maker's test %02X, component %02X", t.Test, t.Component), ID: fmt.Sprintf("%02X/%02X", t.Test, t.Component),
		Value: float64(t.Value), Outcome: notJudged, Raw: fmt.Sprintf("%X", data)}
	if r.Max = float64(t.Limit); t.Minimum {
		r.Min, r.Max = float64(t.Limit), 0xFFFF
	}
	return r
}

// notJudged is the outcome of a result whose scaling and sign only the maker knows.
const notJudged = "not judged"

func testResult(t *monitor.Result) TestResult {
	return TestResult{
		Monitor: monitor.Name(t.Monitor), ID: fmt.Sprintf("%02X/%02X", t.Monitor, t.Test), Test: monitor.TestName(t.Test),
		Value: t.Value, Min: t.Min, Max: t.Max, Unit: t.Unit, Outcome: t.Outcome.String(), Raw: fmt.Sprintf("%X", t.Raw),
	}
}

// supportMaps are maps of what is supported, one a computer: they chain, each by itself.
type supportMaps map[string]*pids.SupportMap

// of tells whether one computer supports an id.
func (m supportMaps) of(ecu string, id byte) bool { return m[ecu] != nil && m[ecu].Has(id) }

// count is of how many computers the maps claim an id; where they have no names, at least of one
// when any does.
func (m supportMaps) count(id byte) (n int) {
	for ecu := range m {
		if ecu != "" && m.of(ecu, id) {
			n++
		}
	}
	if n == 0 && m.of("", id) {
		return 1
	}
	return n
}

// first tells whether the first map of a computer is there: none is empty.
func (m supportMaps) first(ecu string) bool {
	for id := byte(0x01); id <= 0x20; id++ {
		if m.of(ecu, id) {
			return true
		}
	}
	return false
}

// add keeps what else a computer supports.
func (m supportMaps) add(ecu string, has func(id byte) bool) {
	had, all := m[ecu], &pids.SupportMap{}
	for base := 0; base <= 0xE0; base += 0x20 {
		var four [4]byte
		for i := range 32 {
			if id := base + 1 + i; id <= 0xFF && (has(byte(id)) || had != nil && had.Has(byte(id))) {
				four[i/8] |= 0x80 >> (i % 8)
			}
		}
		if err := all.Add(byte(base), four[:]); err != nil {
			panic(err) // four bytes at a base
		}
	}
	m[ecu] = all
}

func (m supportMaps) any(id byte) bool {
	for _, s := range m {
		if s.Has(id) {
			return true
		}
	}
	return false
}

// supports walks the maps of what every computer supports. bits cuts the four bytes of a
// map out of a reply; nil when it is none. A map that the one before claims and that did not come
// is named; lostMaps says of which computers one is missing.
func (c *reader) supports(what string, request func(base byte) string, bits func(base byte, data []byte) []byte) (supportMaps, error) {
	all := supportMaps{}
	c.lostMaps = map[string]string{}
	for base := 0; base <= 0xE0; base += 0x20 {
		if base > 0 && !all.any(byte(base)) {
			break
		}
		what := fmt.Sprintf("%s, map %02X", what, base)
		d := due{maps: all, id: byte(base)}
		if base == 0 {
			d = everybody
		}
		if err := c.supportMap(all, what, request(byte(base)), d, bits); err != nil {
			return nil, err
		}
		if base > 0 {
			maps.Copy(c.lostMaps, c.missed(what, d))
			continue
		}
		for i := range c.r.ECUs {
			ecu := c.r.ECUs[i].ID
			became := cmp.Or(c.became[ecu], c.became[""])
			switch {
			case all[ecu] != nil || became == NotSupported || became == ListRead:
			case became != "":
				c.lostMaps[ecu] = what + ": " + became
			case c.can && !c.r.ECUs[i].further():
				c.lostMaps[ecu] = what + ": " + noMap
			}
		}
	}
	return all, nil
}

// supportMap asks for one map and adds it to those of its computer.
func (c *reader) supportMap(all supportMaps, what, request string, d due, bits func(base byte, data []byte) []byte) error {
	answers := 0
	return c.each(what, request, d, func(e *ECU, data []byte) error {
		four := bits(d.id, data)
		if four == nil {
			return fmt.Errorf("%X is no map of what is supported", data)
		}
		key := e.ID
		if c.r.Nameless { // one map an answer
			answers++
			key = namelessKey(d.id, fmt.Sprint(answers))
		}
		if all[key] == nil {
			all[key] = &pids.SupportMap{}
		}
		return all[key].Add(d.id, four)
	})
}

// namelessKey is the key of a map of a computer without a name.
func namelessKey(base byte, answer string) string { return fmt.Sprintf("%02X %s", base, answer) }
