package dtc

import "strings"

// statusWords are the words for a status, in the order in which they are said.
var statusWords = []struct {
	when func(s Status) bool
	text string
}{
	{func(s Status) bool { return s.Has(TestFailed) }, "fails now"},
	{func(s Status) bool {
		return s.Passed() && s.Has(ConfirmedCode) && s.Has(FailedThisCycle|PendingCode)
	}, "intermittent: failed lately, not now"},
	{func(s Status) bool { return s.Passed() && !s.Has(ConfirmedCode) && s.Has(PendingCode) }, "failed lately, not now"},
	{Status.LastTestPassed, "its last test passed"},
	{func(s Status) bool { return !s.Reports(TestFailed) && s.Failed() }, "this computer does not tell whether it fails now"},
	{func(s Status) bool { return s.Has(ConfirmedCode) }, "stored"},
	{func(s Status) bool {
		return s.Has(TestFailed|PendingCode) && !s.Has(ConfirmedCode) && s.Reports(ConfirmedCode)
	}, "not stored yet"},
	{func(s Status) bool { return s.Has(FailedThisCycle) && !s.Has(faultBits) }, "failed since this start, not told as pending or stored"},
	{func(s Status) bool { return s.Has(FailedSinceClear) && !s.Has(faultBits) }, "failed once since cleared, not stored"},
	{func(s Status) bool { return s.Has(NotTestedThisCycle) && s.Failed() && !s.Has(TestFailed) }, "not tested again since this start, may still be there"},
	{func(s Status) bool { return s.Has(NotTestedThisCycle) && (!s.Failed() || s.Has(TestFailed)) }, "not tested since this start"},
	{func(s Status) bool { return s.Has(NotTestedSinceClear) }, "not tested since cleared: unknown, not good"},
	{func(s Status) bool { return s.Has(LampRequested) }, "asks for a warning lamp"},
}

// Words is the status in full, for a person.
func (s Status) Words() string {
	if s.Unreported == allBits {
		return "this computer says that no bit of its status means anything (availability mask 00)"
	}
	var words []string
	for i := range statusWords {
		if w := &statusWords[i]; w.when(s) {
			words = append(words, w.text)
		}
	}
	switch {
	case !s.ReportsFault():
		return "this computer keeps no bit that tells failing, pending or stored"
	case len(words) > 0:
		return strings.Join(words, ", ")
	case !s.Reports(TestFailed | NotTestedSinceClear | NotTestedThisCycle):
		return "nothing that this computer keeps speaks for a fault"
	}
	return "tested, no fault"
}
