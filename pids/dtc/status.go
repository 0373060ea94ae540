package dtc

// Bits are the bits of the status of a trouble code (ISO 14229-1).
type Bits byte

// The bits, under short names of their own; after each the standard's name.
const (
	TestFailed          Bits = 1 << iota // testFailed: the latest finished test failed
	FailedThisCycle                      // testFailedThisOperationCycle: failed at least once since this start
	PendingCode                          // pendingDTC: failed in this or the last tested cycle
	ConfirmedCode                        // confirmedDTC: failed often enough to be stored
	NotTestedSinceClear                  // testNotCompletedSinceLastClear
	FailedSinceClear                     // testFailedSinceLastClear: failed at least once since cleared
	NotTestedThisCycle                   // testNotCompletedThisOperationCycle
	LampRequested                        // warningIndicatorRequested
)

const (
	// faultBits are those that make a fault of a code.
	faultBits = TestFailed | PendingCode | ConfirmedCode

	// allBits are unreported where a reply has no availability mask, or an empty one.
	allBits Bits = 0xFF
)

// Status is the status of a trouble code. Unreported are the bits that the ECU does not keep:
// they say nothing, and are 0 in Bits. An ECU that keeps none of them has all Unreported; Bits
// are then as they came.
type Status struct {
	Bits, Unreported Bits
}

// Has reports whether any of the bits is set.
func (s Status) Has(bits Bits) bool { return s.Bits&bits != 0 }

// Reports reports whether the ECU keeps all of the bits.
func (s Status) Reports(bits Bits) bool { return s.Unreported&bits == 0 }

// ReportsFault reports whether the ECU keeps at least one bit that makes a fault of a code:
// test failed, pending or confirmed.
func (s Status) ReportsFault() bool { return s.Unreported&faultBits != faultBits }

// Passed reports whether the latest finished test is known not to have failed.
func (s Status) Passed() bool { return s.Reports(TestFailed) && !s.Has(TestFailed) }

// Failed reports whether anything failed since codes were cleared.
func (s Status) Failed() bool { return s.Has(faultBits | FailedThisCycle | FailedSinceClear) }

// LastTestPassed reports whether the code is stored, its latest test is known to have passed,
// and none failed since this start.
func (s Status) LastTestPassed() bool {
	return s.Passed() && s.Has(ConfirmedCode) && !s.Has(FailedThisCycle|PendingCode)
}

// Unclear reports whether the code is stored and the ECU does not report whether its test
// fails now: it may be of now or of long ago.
func (s Status) Unclear() bool { return s.State() == History && !s.Reports(TestFailed) }

// MayBeCurrent reports whether the fault may be there now: the test fails, the code is
// pending, it failed since this start, or the ECU keeps no bit that would say so.
func (s Status) MayBeCurrent() bool {
	switch s.State() {
	case Current, Pending:
		return true
	case History:
		return s.Unclear()
	case Untested:
		return !s.ReportsFault() || s.Has(FailedThisCycle)
	}
	return false
}

// State is the list that a code is in, or what its status comes to in one word.
type State uint8

// The states. Services 03, 07 and 0A of SAE J1979 list stored, pending and permanent codes; a
// status comes to one of the others, or to pending.
const (
	NoFault   State = iota
	Stored          // service 03: confirmed; now or in the past
	Pending         // failed in this or the last tested cycle, not confirmed yet
	Permanent       // service 0A: cleared only by the ECU itself
	Current         // the test fails now
	History         // confirmed, and not known to fail now
	Untested        // no fault bit set, and no pass either
)

var stateWords = [...]string{Stored: "stored", Pending: "pending", Permanent: "permanent", Current: "current", History: "history", Untested: "untested"}

// String is the word that JSON and text have for the state; "" for NoFault.
func (s State) String() string {
	if int(s) >= len(stateWords) {
		return ""
	}
	return stateWords[s]
}

// MarshalText is String, as bytes.
func (s State) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads what MarshalText wrote; the error is ErrState, and the state is then as it was.
func (s *State) UnmarshalText(text []byte) error {
	for i, w := range stateWords {
		if w == string(text) {
			*s = State(i)
			return nil
		}
	}
	return ErrState
}

// State is Current when the test fails, else Pending, else History when the code is confirmed.
// It is Untested when the ECU keeps none of these bits, when the code was not tested since it
// was cleared, or when it failed once and is neither pending nor confirmed; else NoFault. A
// stored code is History also where the ECU does not report whether its test fails now: see
// Unclear.
func (s Status) State() State {
	switch {
	case !s.ReportsFault():
		return Untested
	case s.Has(TestFailed):
		return Current
	case s.Has(PendingCode):
		return Pending
	case s.Has(ConfirmedCode):
		return History
	case s.Has(NotTestedSinceClear | FailedThisCycle | FailedSinceClear):
		return Untested
	}
	return NoFault
}
