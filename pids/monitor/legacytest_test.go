package monitor

import (
	"encoding/hex"
	"errors"
	"strings"
	"testing"

	"github.com/judder-obd/judder/pids"
)

// Results of service 06 on the older buses, computed by the layout of SAE J1979 (from memory).
func TestParseLegacyResult(t *testing.T) {
	for reply, want := range map[string]LegacyResult{
		"46 05 01 00 64 01 2C": {Test: 0x05, Component: 0x01, Value: 100, Limit: 300},
		"46 08 01 00 64 01 2C": {Test: 0x08, Component: 0x01, Value: 100, Limit: 300},
		"46 05 81 FF 9C 00 00": {Test: 0x05, Component: 0x01, Minimum: true, Value: 0xFF9C},
	} {
		if got, err := ParseLegacyResult(unhex(t, reply)); got != want || err != nil {
			t.Errorf("%s: %+v, %v; want %+v", reply, got, err, want)
		}
	}
	for _, c := range []struct {
		reply string
		cause error
		at    int
	}{
		{"", pids.ErrOther, 0},
		{"45 05 01 00 64 01 2C", pids.ErrOther, 0},
		{"46 05 01 00 64 01", pids.ErrShort, 6},
		{"46 01 01 0A 10 00 0D 00 14 00", pids.ErrLong, 7}, // a record of CAN
		{"46 20 FF 80 00 00 00", pids.ErrOther, 1},
		{"46 00 FF 80 00 00 00", pids.ErrOther, 1}, // which tests there are
	} {
		got, err := ParseLegacyResult(unhex(t, c.reply))
		var where *pids.DataError
		if got != (LegacyResult{}) || !errors.Is(err, c.cause) || !errors.As(err, &where) || where.Offset != c.at {
			t.Errorf("%s: %+v, %v; want %v at byte %d", c.reply, got, err, c.cause, c.at)
		}
	}
}

func unhex(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}
