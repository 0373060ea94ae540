package check

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"judder/obd"
	"judder/pids"
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
	for monitor := range 256 {
		c.progress("test results", monitor, 256)
		if monitor%0x20 == 0 || !supported.any(byte(monitor)) {
			continue
		}
		what := fmt.Sprintf("test results of monitor %02X", monitor)
		if err := c.each(what, obd.Request(0x06, byte(monitor)), func(e *ECU, data []byte) error {
			results, err := pids.ParseTestResults(data)
			for i := range results {
				e.Tests = append(e.Tests, testResult(&results[i]))
			}
			return err
		}); err != nil {
			return err
		}
		c.testsMissed(what, supported, byte(monitor))
	}
	return nil
}

// testState says of every computer, once the maps are read, whether its test results can be read
// whole.
func (c *reader) testState(why string) {
	for i := range c.r.ECUs {
		if e := &c.r.ECUs[i]; !e.further() {
			e.TestState = cmp.Or(why, c.lostMaps[e.ID], ListRead)
		}
	}
}

// testsMissed names the computers that claim a test and did not tell its results whole.
func (c *reader) testsMissed(what string, supported supportMaps, id byte) {
	for ecu, became := range c.missed(what, supported, id) {
		c.r.ecu(ecu).TestState = what + ": " + became
	}
}

// missed is what became of those that claim something and did not tell it whole. Silence is
// noted; the rest is so already.
func (c *reader) missed(what string, supported supportMaps, id byte) map[string]string {
	for _, silent := range c.silentTo(supported, id, c.became) {
		c.note(silent, what, silentToClaim)
	}
	out := map[string]string{}
	for i := range c.r.ECUs {
		ecu := c.r.ECUs[i].ID
		if !supported.of(ecu, id) && (!c.r.Nameless || !supported.any(id)) {
			continue
		}
		if became := cmp.Or(c.became[ecu], c.became[""], silentToClaim); became != ListRead && became != NotSupported {
			out[ecu] = became
		}
	}
	return out
}

// silentToClaim is what becomes of a question that a computer claims to answer and does not.
const silentToClaim = "no answer, though it is supported"

// silentTo are the computers that claim something and said nothing when they were asked for it;
// none when what came cannot be told apart.
func (c *reader) silentTo(claims supportMaps, id byte, became map[string]string) (who []string) {
	switch {
	case c.r.Nameless && claims.any(id) && len(became) == 0:
		return []string{""}
	case c.r.Nameless, became[""] != "":
		return nil
	}
	for _, ecu := range slices.Sorted(maps.Keys(claims)) {
		if claims.of(ecu, id) && became[ecu] == "" {
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
		if err := c.each(what, obd.Request(0x06, byte(test)), func(e *ECU, data []byte) error {
			t, err := pids.ParseLegacyTestResult(data)
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

func legacyResult(t *pids.LegacyTestResult, data []byte) TestResult {
	r := TestResult{Monitor: fmt.Sprintf("maker's test %02X, component %02X", t.Test, t.Component), ID: fmt.Sprintf("%02X/%02X", t.Test, t.Component),
		Value: float64(t.Value), Outcome: notJudged, Raw: fmt.Sprintf("%X", data)}
	if r.Max = float64(t.Limit); t.Minimum {
		r.Min, r.Max = float64(t.Limit), 0xFFFF
	}
	return r
}

// notJudged is the outcome of a result whose scaling and sign only the maker knows.
const notJudged = "not judged"

func testResult(t *pids.TestResult) TestResult {
	return TestResult{
		Monitor: pids.MonitorName(t.Monitor), ID: fmt.Sprintf("%02X/%02X", t.Monitor, t.Test), Test: pids.TestName(t.Test),
		Value: t.Value, Min: t.Min, Max: t.Max, Unit: t.Unit, Outcome: t.Outcome.String(), Raw: fmt.Sprintf("%X", t.Raw),
	}
}

// supportMaps are maps of what is supported, one a computer: they chain, each by itself.
type supportMaps map[string]*pids.SupportMap

// of tells whether one computer supports an id.
func (m supportMaps) of(ecu string, id byte) bool { return m[ecu] != nil && m[ecu].Has(id) }

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
		err := c.supportMap(all, what, request(byte(base)), byte(base), bits)
		if err == nil && base == 0 && c.can && !c.r.Nameless && c.silentECU() { // a reply may be lost
			err = c.supportMap(all, what, request(byte(base)), byte(base), bits)
		}
		if err != nil {
			return nil, err
		}
		if base > 0 {
			maps.Copy(c.lostMaps, c.missed(what, all, byte(base)))
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
				c.lostMaps[ecu] = what + ": no answer; whether it tells any is not known"
			}
		}
	}
	return all, nil
}

// silentECU tells whether some computer said nothing to the last question to all.
func (c *reader) silentECU() bool {
	return c.became[""] == "" && slices.ContainsFunc(c.r.ECUs, func(e ECU) bool { return !e.further() && c.became[e.ID] == "" })
}

// supportMap asks for one map and adds it to those of its computer.
func (c *reader) supportMap(all supportMaps, what, request string, base byte, bits func(base byte, data []byte) []byte) error {
	answers := 0
	return c.each(what, request, func(e *ECU, data []byte) error {
		four := bits(base, data)
		if four == nil {
			return fmt.Errorf("%X is no map of what is supported", data)
		}
		key := e.ID
		if c.r.Nameless { // one map an answer
			answers++
			key = fmt.Sprint(base, " ", answers)
		}
		if all[key] == nil {
			all[key] = &pids.SupportMap{}
		}
		return all[key].Add(base, four)
	})
}
