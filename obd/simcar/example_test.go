package simcar_test

import (
	"bufio"
	"context"
	"fmt"
	"strings"

	"judder/obd/simcar"
)

// A host sets the adapter up and reads engine speed from a car at 1726 rpm.
func Example() {
	condition := simcar.WarmIdle()
	condition.RPM = 1726
	sim := simcar.New(simcar.Steady(condition), simcar.Instant())

	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	conn := sim.Pipe(ctx)
	replies := bufio.NewReader(conn)
	for _, command := range []string{"ATE0", "0100", "010C1"} {
		if _, err := conn.Write([]byte(command + "\r")); err != nil {
			fmt.Println(err)
		}
		reply, err := replies.ReadString('>')
		if err != nil {
			fmt.Println(err)
		}
		fmt.Printf("%-5s %s\n", command, strings.Join(strings.Fields(reply), " "))
	}
	fmt.Println(sim.Given()[0].Value, "rpm given; write attempts:", sim.WriteAttempts())
	// Output:
	// ATE0  ATE0 OK >
	// 0100  SEARCHING... 41 00 BE 3F B8 13 >
	// 010C1 41 0C 1A F8 >
	// 1726 rpm given; write attempts: 0
}
