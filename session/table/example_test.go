package table_test

import (
	"fmt"
	"strings"

	"github.com/judder-obd/judder/session/table"
)

func ExampleImport() {
	file := "time_s,signal,value,unit\n0.00,RPM,1650,rpm\n0.04,VSS,49,mph\n"
	_, _, err := table.Import(strings.NewReader(file), "drive.csv")
	fmt.Println(err)
	// Output:
	// drive.csv, line 3, column unit: "mph": this is another unit than the signal's own; VSS is in km/h: convert the values and say so in the column
}
