package report

import (
	"strings"
	"testing"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/pids/dtc"
)

// On the telephone a code that two modules store is named once, and another state of it is named too.
func TestPhone_CodeOfTwoModules(t *testing.T) {
	r := &check.Report{}
	r.ECU("7E8").Codes = []check.Code{{Code: "P0741", State: dtc.Stored}, {Code: "P0420", State: dtc.Permanent}}
	r.ECU("7E9").Codes = []check.Code{{Code: "P0741", State: dtc.Stored}}
	e := &casefile.Evidence{Checks: []casefile.CheckFile{{File: &casefile.File{Stage: casefile.Before}, Report: r}}}
	w := &phone{&writer{e: e, o: options(casefile.Before)}}
	if got := w.codesInShort(); strings.Count(got, "P0741") != 1 || !strings.Contains(got, "P0420 permanent") {
		t.Error(got)
	}
}
