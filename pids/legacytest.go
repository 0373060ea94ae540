package pids

// LegacyTestResult is one result of service 06 on the older buses (SAE J1979, from memory).
// Tests, scaling and sign are the maker's: the numbers are raw and not judged.
type LegacyTestResult struct {
	Test, Component byte
	Minimum         bool // Limit is the smallest good value; else the largest
	Value, Limit    uint16
}

const (
	legacyResultSize = 7    // service, test, kind of limit and component, value, limit
	limitIsMinimum   = 0x80 // the kind of limit; the other bits are the component
)

// ParseLegacyTestResult reads a reply to service 06 of the older buses:
//
//	46 test component value value limit limit
//
// The error is a *DataError: ErrOther (also for a map of tests, 00, 20 … E0), ErrShort,
// ErrLong.
func ParseLegacyTestResult(reply []byte) (LegacyTestResult, error) {
	const what = "test result"
	switch {
	case len(reply) == 0 || reply[0] != 0x46:
		return LegacyTestResult{}, NewDataError(what, 0, ErrOther)
	case len(reply) < legacyResultSize:
		return LegacyTestResult{}, NewDataError(what, len(reply), ErrShort)
	case len(reply) > legacyResultSize:
		return LegacyTestResult{}, NewDataError(what, legacyResultSize, ErrLong)
	case reply[1]%mapEvery == 0:
		return LegacyTestResult{}, NewDataError(what, 1, ErrOther)
	}
	return LegacyTestResult{
		Test: reply[1], Component: reply[2] &^ limitIsMinimum, Minimum: reply[2]&limitIsMinimum != 0,
		Value: uint16(reply[3])<<8 | uint16(reply[4]), Limit: uint16(reply[5])<<8 | uint16(reply[6]),
	}, nil
}
