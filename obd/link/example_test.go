package link_test

import (
	"bufio"
	"fmt"
	"io"

	"judder/obd/link"
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
