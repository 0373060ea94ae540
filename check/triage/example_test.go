package triage_test

import (
	"fmt"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/triage"
	"github.com/judder-obd/judder/pids/dtc"
)

// A misfire comes before the converter clutch, and a good supply before both.
func ExampleOf() {
	r := &check.Report{Volts: 11.4}
	e := r.ECU("7E8")
	for _, name := range []string{"P0741", "P0304"} {
		e.Codes = append(e.Codes, check.Code{Code: name, State: dtc.Stored, Service: "03"})
	}
	for _, a := range triage.Of(r) {
		fmt.Println(a.Rule, a.Codes)
	}
	// Output:
	// battery []
	// misfire [P0304]
	// lock-up-clutch [P0741]
}
