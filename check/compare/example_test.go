package compare_test

import (
	"fmt"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/compare"
	"github.com/judder-obd/judder/pids/dtc"
)

// A list that the second check did not read makes no code "gone".
func ExampleChecks() {
	before, after := &check.Report{}, &check.Report{}
	for _, id := range []string{"7E8", "7E9"} {
		e := before.ECU(id)
		e.Codes, e.Lists = []check.Code{{Code: "P0741", State: dtc.Stored}}, check.Lists{check.ListStored: check.Of(check.Read)}
	}
	after.ECU("7E8").Lists = check.Lists{check.ListStored: check.Of(check.Read)}
	after.ECU("7E9").Lists = check.Lists{check.ListStored: check.Of(check.Damaged)}
	for _, c := range compare.Checks(before, after).Changes {
		fmt.Println(c.ECU, c.Code, c.What)
	}
	// Output:
	// 7E8 P0741 gone
	// 7E9 P0741 not read
}
