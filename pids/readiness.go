package pids

// Readiness is the monitor status of PID $01 (since codes were cleared) or $41 (this drive
// cycle): the lamp, the number of stored codes, and which self-tests have run.
type Readiness struct {
	MIL         bool // lamp commanded on by this ECU; always false from $41
	Codes       int  // stored emission-related codes in this ECU; 0 from $41
	Compression bool // compression ignition: a Diesel
	Tests       [11]Test
}

// Test is the state of one self-test.
type Test struct {
	Name      string // "" when the standard names no test for this bit
	Available bool   // $01: fitted; $41: enabled this drive cycle
	Complete  bool   // has run to its end; without meaning when not available
}

// Incomplete counts the tests that are available and have not run to their end.
func (r *Readiness) Incomplete() (n int) {
	for _, t := range r.Tests {
		if t.Available && !t.Complete {
			n++
		}
	}
	return n
}

// testNames are the tests in order of their bits: three of byte B, then eight of bytes C
// and D from bit 0 up, for spark and for compression ignition (SAE J1979, as tabulated in
// the encyclopaedia article "OBD-II PIDs"). Older lists name bit 4 of spark ignition the
// air-conditioning refrigerant.
var testNames = [2][11]string{
	{
		"misfire", "fuel system", "components",
		"catalyst", "heated catalyst", "evaporative system", "secondary air",
		"gasoline particulate filter", "oxygen sensor", "oxygen sensor heater", "EGR or VVT",
	},
	{
		"misfire", "fuel system", "components",
		"NMHC catalyst", "NOx or SCR", "", "boost pressure",
		"", "exhaust gas sensor", "particulate filter", "EGR or VVT",
	},
}

// MonitorStatus decodes the four data bytes of PID $01 or $41:
//
//	A  bit 7 lamp, bits 6–0 number of codes ($41: 0)
//	B  bit 3 compression ignition; bits 2–0 available, bits 6–4 not complete:
//	   components, fuel system, misfire
//	C  available, one bit a test
//	D  not complete, same order
//
// The error is a *ReplyError, ErrShort or ErrLong.
func MonitorStatus(pid byte, data []byte) (Readiness, error) {
	switch {
	case len(data) < 4:
		return Readiness{}, &ReplyError{PID: pid, Offset: len(data), Err: ErrShort}
	case len(data) > 4:
		return Readiness{}, &ReplyError{PID: pid, Offset: 4, Err: ErrLong}
	}
	var r Readiness
	if pid == 0x01 {
		r.MIL = data[0]&0x80 != 0
		r.Codes = int(data[0] & 0x7F)
	}
	r.Compression = data[1]&0x08 != 0
	names := &testNames[0]
	if r.Compression {
		names = &testNames[1]
	}
	available := uint(data[1]&0x07) | uint(data[2])<<3
	missing := uint(data[1]>>4&0x07) | uint(data[3])<<3
	for i := range r.Tests {
		r.Tests[i] = Test{
			Name:      names[i],
			Available: available>>i&1 != 0,
			Complete:  missing>>i&1 == 0, // the bit is inverted: 1 is "not complete"
		}
	}
	return r, nil
}
