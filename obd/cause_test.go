package obd

import (
	"testing"
)

// Codes are kept in recordings: each cause has its own, and it leads back to the cause.
func TestCauseCodes(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range Causes() {
		if c.String() == "" || seen[c.String()] || CauseByCode(c.String()) != c {
			t.Errorf("cause %d has the code %q, which is that of %d", c, c, CauseByCode(c.String()))
		}
		seen[c.String()] = true
	}
	if CauseByCode("") != CauseUnknown || CauseByCode("of a later version") != CauseUnknown || Cause(200).String() != "" {
		t.Error("what is not known has a cause")
	}
}
