package pids

import (
	"errors"
	"fmt"
	"testing"
)

// Results of service 06 on the older buses, computed by the layout of SAE J1979 (from memory).
func TestParseLegacyTestResult(t *testing.T) {
	for reply, want := range map[string]LegacyTestResult{
		"46 05 01 00 64 01 2C": {Test: 0x05, Component: 0x01, Value: 100, Limit: 300},
		"46 05 81 FF 9C 00 00": {Test: 0x05, Component: 0x01, Minimum: true, Value: 0xFF9C},
	} {
		if got, err := ParseLegacyTestResult(hexBytes(t, reply)); got != want || err != nil {
			t.Errorf("%s: %+v, %v; want %+v", reply, got, err, want)
		}
	}
	for _, c := range []struct {
		reply string
		cause error
		at    int
	}{
		{"", ErrOther, 0},
		{"45 05 01 00 64 01 2C", ErrOther, 0},
		{"46 05 01 00 64 01", ErrShort, 6},
		{"46 01 01 0A 10 00 0D 00 14 00", ErrLong, 7}, // a record of CAN
		{"46 00 FF 80 00 00 00", ErrOther, 1},         // which tests there are
	} {
		got, err := ParseLegacyTestResult(hexBytes(t, c.reply))
		var where *DataError
		if got != (LegacyTestResult{}) || !errors.Is(err, c.cause) || !errors.As(err, &where) || where.Offset != c.at {
			t.Errorf("%s: %+v, %v; want %v at byte %d", c.reply, got, err, c.cause, c.at)
		}
	}
}

// A test that has not run since codes were cleared is no pass.
func ExampleParseTestResults() {
	reply := []byte{0x46, 0xA2, 0x0C, 0x24, 0, 1, 0, 0, 0xFF, 0xFF, 0x21, 0x80, 0x84, 0, 0, 0, 0, 0, 0}
	results, err := ParseTestResults(reply)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range results {
		fmt.Printf("%s, %s: %v %s, %v\n", MonitorName(r.Monitor), TestName(r.Test), r.Value, r.Unit, r.Outcome)
	}
	// Output:
	// misfire, cylinder 1, this or the last drive cycle: 1 count, passed
	// catalyst, bank 1, maker's test 80: 0 , not run
}

func ExampleCheckVIN() {
	const vin = "0TESTAA00A0000006" // of nobody's car; its check digit is computed
	r := CheckVIN(vin)
	fmt.Println(MaskVIN(vin), r.CheckDigit, r.ModelYear)
	// Output: 0TESTAA00A0****** true 2010
}
