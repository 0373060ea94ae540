package check

import (
	"fmt"

	"judder/obd"
	"judder/pids"
)

// tests reads the results of service 06, monitor by monitor as each computer supports it
// (SAE J1979). Older buses name their tests by the maker's numbers, and scale them so;
// nothing is asked there.
func (c *reader) tests() error {
	if !c.can || c.successor {
		return nil
	}
	supported, err := c.supports("test results", func(base byte) string { return obd.Request(0x06, base) }, func(base byte, data []byte) []byte {
		if len(data) < 6 || data[1] != base {
			return nil
		}
		return data[2:6]
	})
	if err != nil {
		return err
	}
	for monitor := range 256 {
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
	}
	return nil
}

func testResult(t *pids.TestResult) TestResult {
	return TestResult{
		Monitor: pids.MonitorName(t.Monitor), ID: fmt.Sprintf("%02X/%02X", t.Monitor, t.Test), Test: pids.TestName(t.Test),
		Value: t.Value, Min: t.Min, Max: t.Max, Unit: t.Unit, Outcome: t.Outcome.String(), Raw: fmt.Sprintf("%X", t.Raw),
	}
}

// supportMaps are maps of what is supported, one a computer: they chain, each by itself.
type supportMaps map[string]*pids.SupportMap

func (m supportMaps) any(id byte) bool {
	for _, s := range m {
		if s.Has(id) {
			return true
		}
	}
	return false
}

// supports walks the maps of what every computer supports. bits cuts the four bytes of a
// map out of a reply; nil when it is none.
func (c *reader) supports(what string, request func(base byte) string, bits func(base byte, data []byte) []byte) (supportMaps, error) {
	maps := supportMaps{}
	for base := 0; base <= 0xE0; base += 0x20 {
		if base > 0 && !maps.any(byte(base)) {
			break
		}
		if err := c.each(what, request(byte(base)), func(e *ECU, data []byte) error {
			four := bits(byte(base), data)
			if four == nil {
				return fmt.Errorf("%X is no map of what is supported", data)
			}
			if maps[e.ID] == nil {
				maps[e.ID] = &pids.SupportMap{}
			}
			return maps[e.ID].Add(byte(base), four)
		}); err != nil {
			return nil, err
		}
	}
	return maps, nil
}
