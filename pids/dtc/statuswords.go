package dtc

import "strings"

// statusWords are the words for a status, in the order in which they are said. older is what
// files of the first version have instead; "" is the same.
var statusWords = []struct {
	when        func(s Status) bool
	text, older string
}{
	{func(s Status) bool { return s.Has(TestFailed) }, "fails now", ""},
	{func(s Status) bool {
		return s.Passed() && s.Has(ConfirmedCode) && s.Has(FailedThisCycle|PendingCode)
	}, "intermittent: failed lately, not now", ""},
	{func(s Status) bool { return s.Passed() && !s.Has(ConfirmedCode) && s.Has(PendingCode) }, "failed lately, not now", ""},
	{Status.LastTestPassed, "its last test passed", ""},
	{func(s Status) bool { return !s.Reports(TestFailed) && s.Failed() },
		"this control unit does not report whether it fails now", "this computer does not tell whether it fails now"},
	{func(s Status) bool { return s.Has(ConfirmedCode) }, "stored", ""},
	{func(s Status) bool {
		return s.Has(TestFailed|PendingCode) && !s.Has(ConfirmedCode) && s.Reports(ConfirmedCode)
	}, "not stored yet", ""},
	{func(s Status) bool { return s.Has(FailedThisCycle) && !s.Has(faultBits) },
		"failed since this start, not reported as pending or stored", "failed since this start, not told as pending or stored"},
	{func(s Status) bool { return s.Has(FailedSinceClear) && !s.Has(faultBits) }, "failed once since cleared, not stored", ""},
	{func(s Status) bool { return s.Has(NotTestedThisCycle) && s.Failed() && !s.Has(TestFailed) }, "not tested again since this start, may still be there", ""},
	{func(s Status) bool { return s.Has(NotTestedThisCycle) && (!s.Failed() || s.Has(TestFailed)) }, "not tested since this start", ""},
	{func(s Status) bool { return s.Has(NotTestedSinceClear) }, "not tested since cleared: unknown, not good", ""},
	{func(s Status) bool { return s.Has(LampRequested) }, "asks for a warning lamp", ""},
}

// Words for the whole of a status: what is said now, and what files of the
// first version have.
var (
	noBitMeans   = [2]string{"this control unit marks every bit of its status as meaningless (availability mask 00)", "this computer says that no bit of its status means anything (availability mask 00)"}
	noFaultBit   = [2]string{"this control unit keeps no bit for failing, pending or stored", "this computer keeps no bit that tells failing, pending or stored"}
	nothingKept  = [2]string{"nothing that this control unit keeps shows a fault", "nothing that this computer keeps speaks for a fault"}
	testedPassed = [2]string{"tested, no fault", "tested, no fault"}
)

// Words is the status in full, for a person.
func (s Status) Words() string { return s.words(0) }

// OlderWords is Words as files of the first version have it. Those files do not hold which bits
// an ECU keeps: only their words show it.
func (s Status) OlderWords() string { return s.words(1) }

func (s Status) words(version int) string {
	if s.Unreported == allBits {
		return noBitMeans[version]
	}
	if !s.ReportsFault() {
		return noFaultBit[version]
	}
	var words []string
	for i := range statusWords {
		w := &statusWords[i]
		switch {
		case !w.when(s):
		case version > 0 && w.older != "":
			words = append(words, w.older)
		default:
			words = append(words, w.text)
		}
	}
	switch {
	case len(words) > 0:
		return strings.Join(words, ", ")
	case !s.Reports(TestFailed | NotTestedSinceClear | NotTestedThisCycle):
		return nothingKept[version]
	}
	return testedPassed[version]
}
