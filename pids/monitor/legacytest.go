package monitor

import "github.com/judder-obd/judder/pids"

// LegacyResult is one result of service 06 on the older buses (SAE J1979, from memory).
// Tests, scaling and sign are the maker's: the numbers are raw, and nothing says whether they pass.
type LegacyResult struct {
	Test, Component byte
	Minimum         bool // Limit is the smallest good value; else the largest
	Value, Limit    uint16
}

const (
	legacyResultSize = 7    // service, test, kind of limit and component, value, limit
	limitIsMinimum   = 0x80 // the kind of limit; the other bits are the component
)

// ParseLegacyResult reads a reply to service 06 of the older buses:
//
//	46 test component value value limit limit
//
// The error is a *pids.DataError: ErrOther (also for a map of tests, 00, 20 … E0), ErrShort,
// ErrLong.
func ParseLegacyResult(reply []byte) (LegacyResult, error) {
	const what = "test result"
	switch {
	case len(reply) == 0 || reply[0] != 0x46:
		return LegacyResult{}, pids.NewDataError(what, 0, pids.ErrOther)
	case len(reply) < legacyResultSize:
		return LegacyResult{}, pids.NewDataError(what, len(reply), pids.ErrShort)
	case len(reply) > legacyResultSize:
		return LegacyResult{}, pids.NewDataError(what, legacyResultSize, pids.ErrLong)
	case reply[1]%mapEvery == 0:
		return LegacyResult{}, pids.NewDataError(what, 1, pids.ErrOther)
	}
	return LegacyResult{
		Test: reply[1], Component: reply[2] &^ limitIsMinimum, Minimum: reply[2]&limitIsMinimum != 0,
		Value: uint16(reply[3])<<8 | uint16(reply[4]), Limit: uint16(reply[5])<<8 | uint16(reply[6]),
	}, nil
}
