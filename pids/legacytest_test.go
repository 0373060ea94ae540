package pids

import (
	"errors"
	"testing"
)

// Results of service 06 on the older buses, computed by the layout of SAE J1979 (from memory).
func TestParseLegacyTestResult(t *testing.T) {
	for reply, want := range map[string]LegacyTestResult{
		"46 05 01 00 64 01 2C": {Test: 0x05, Component: 0x01, Value: 100, Limit: 300},
		"46 05 81 FF 9C 00 00": {Test: 0x05, Component: 0x01, Minimum: true, Value: 0xFF9C},
	} {
		if got, err := ParseLegacyTestResult(unhex(t, reply)); got != want || err != nil {
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
		got, err := ParseLegacyTestResult(unhex(t, c.reply))
		var where *DataError
		if got != (LegacyTestResult{}) || !errors.Is(err, c.cause) || !errors.As(err, &where) || where.Offset != c.at {
			t.Errorf("%s: %+v, %v; want %v at byte %d", c.reply, got, err, c.cause, c.at)
		}
	}
}
