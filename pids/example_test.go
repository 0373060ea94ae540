package pids_test

import (
	"fmt"

	"github.com/judder-obd/judder/pids"
)

// The reply 41 0C 1A F8 0D 64 to a request for engine speed and vehicle speed.
func Example() {
	reply := []byte{0x0C, 0x1A, 0xF8, 0x0D, 0x64} // after the service byte
	parts, err := pids.Split(nil, reply, 0x0C, 0x0D)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, part := range parts {
		values, err := part.PID.Append(nil, part.Data)
		if err != nil {
			fmt.Println(err)
			return
		}
		for _, v := range values {
			fmt.Println(v.Field.Signal, v.Value, v.Field.Unit)
		}
	}
	// Output:
	// RPM 1726 rpm
	// VSS 100 km/h
}

// Which PIDs an ECU supports, from its answer to the first map.
func ExampleSupportMap() {
	var m pids.SupportMap
	if err := m.Add(0x00, []byte{0x98, 0x18, 0x80, 0x13}); err != nil {
		fmt.Println(err)
		return
	}
	for pid := range m.All() {
		fmt.Printf("%02X ", pid)
	}
	next, more := m.Next(0x00)
	fmt.Printf("| next map %02X: %v\n", next, more)
	// Output: 01 04 05 0C 0D 11 1C 1F | next map 20: true
}
