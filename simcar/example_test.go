package simcar_test

import (
	"bufio"
	"context"
	"fmt"
	"strings"

	"github.com/judder-obd/judder/simcar"
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

// A further module is asked by its own address. Outside 7E8 to 7EF the adapter must get
// what to let in and where flow control goes.
func ExampleModuleECU() {
	code := simcar.StatusCode{Code: simcar.Codes("U0140")[0], FailureType: 0x87, Status: 0x28}
	sim := simcar.New(simcar.Steady(simcar.WarmIdle()), simcar.Instant(),
		simcar.WithECUs(simcar.EngineECU(), simcar.ModuleECU("seat", 0x710, 0x77A, code, code)))

	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	conn := sim.Pipe(ctx)
	replies := bufio.NewReader(conn)
	for _, command := range []string{"ATE0", "ATSP6", "ATSH710", "ATCRA77A", "19022F", "ATFCSH710", "ATFCSD300000", "ATFCSM1", "19022F"} {
		if _, err := conn.Write([]byte(command + "\r")); err != nil {
			fmt.Println(err)
		}
		reply, err := replies.ReadString('>')
		if err != nil {
			fmt.Println(err)
		}
		if command == "19022F" {
			fmt.Println(strings.Join(strings.Fields(reply), " "))
		}
	}
	fmt.Println("clear attempts:", sim.ClearAttempts())
	// Output:
	// 00B 0: 59 02 FF C1 40 87 >
	// 00B 0: 59 02 FF C1 40 87 1: 28 C1 40 87 28 00 00 >
	// clear attempts: 0
}
