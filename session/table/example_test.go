package table_test

import (
	"fmt"
	"strings"

	"github.com/judder-obd/judder/session/table"
)

func ExampleImport() {
	file := "time;Engine speed (rpm);Speed (mph)\n14:30:00,00;1650;\n14:30:00,04;1652,5;50\n"
	got, err := table.Import(strings.NewReader(file), "drive.csv", nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range got.Samples {
		fmt.Println(s.At, s.Signal, s.Value)
	}
	// Output:
	// 0s RPM 1650
	// 40ms RPM 1652.5
	// 40ms VSS 80.4672
}
