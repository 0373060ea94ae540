package check

import (
	"fmt"

	"judder/obd"
	"judder/pids"
)

// tests reads the results of service 06, monitor by monitor as each computer supports it
// (SAE J1979). Older buses name their tests by the maker's numbers; those stay raw.
func (c *reader) tests() error {
	if !c.can || c.successor {
		return nil
	}
	var supported pids.SupportMap
	for base := 0; base <= 0xE0; base += 0x20 {
		if base > 0 && !supported.Has(byte(base)) {
			continue
		}
		if err := c.each("test results", obd.Request(0x06, byte(base)), func(_ *ECU, data []byte) error {
			if len(data) < 6 || data[1] != byte(base) {
				return fmt.Errorf("a support map of %d bytes", len(data))
			}
			return supported.Add(byte(base), data[2:6])
		}); err != nil {
			return err
		}
	}
	for monitor := range supported.All() {
		if monitor%0x20 == 0 {
			continue
		}
		if err := c.each(fmt.Sprintf("test results of monitor %02X", monitor), obd.Request(0x06, monitor), func(e *ECU, data []byte) error {
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
