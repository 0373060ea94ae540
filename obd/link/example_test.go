package link_test

import (
	"bufio"
	"fmt"
	"io"
	"time"

	"github.com/judder-obd/judder/obd/link"
)

// An adapter in memory answers one request.
func ExamplePipe() {
	l, adapter := link.Pipe()
	defer func() { _ = l.Close() }()
	go func() {
		request, _ := bufio.NewReader(adapter).ReadString('\r')
		if request == "010C\r" {
			_, _ = io.WriteString(adapter, "41 0C 1A F8 \r\r>")
		}
	}()
	_, _ = io.WriteString(l, "010C\r")
	reply, _ := bufio.NewReader(l).ReadString('>')
	fmt.Printf("%q\n", reply)
	// Output: "41 0C 1A F8 \r\r>"
}

// What the usual timer of a USB adapter costs where a reply takes 10 ms.
func ExampleLatencyTimer_Rates() {
	for _, wait := range []time.Duration{16 * time.Millisecond, time.Millisecond} {
		sure, most := link.LatencyTimer{Wait: wait}.Rates(10 * time.Millisecond)
		fmt.Printf("%v: %.1f to %.1f exchanges a second\n", wait, sure, most)
	}
	// Output:
	// 16ms: 38.5 to 62.5 exchanges a second
	// 1ms: 90.9 to 100.0 exchanges a second
}
