package drivetrain_test

import (
	"fmt"
	"time"

	"github.com/judder-obd/judder/simcar/drivetrain"
)

// Five minutes of a road test, what happened in it and how it reads.
func ExampleDrive() {
	d := drivetrain.New(drivetrain.Spec{Seed: 1, Script: drivetrain.RoadTest, Length: 5 * time.Minute})

	truth := d.Truth()
	for _, s := range truth.Stops {
		fmt.Println(s.Kind, "stop from", s.Start.Round(time.Second), "to", s.End.Round(time.Second))
	}
	readings := d.Readings(drivetrain.Sampling{RPMHz: 10})
	fmt.Println(len(readings), "readings, first:", readings[0].Signal)
	fmt.Println("shudder found in it:", len(truth.Shudder) > 0)
	// Output:
	// automatic stop from 40s to 49s
	// automatic stop from 1m23s to 1m31s
	// 6000 readings, first: RPM
	// shudder found in it: true
}
