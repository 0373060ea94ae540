package reply

import (
	"fmt"
	"time"

	"github.com/judder-obd/judder/obd"
)

// Two ECUs answer a request for engine speed and road speed, one of them with road speed
// alone. Each reading keeps who sent it, and when the line came. Engine speed is a quarter of
// 1AF8 hex, road speed the byte itself (SAE J1979).
func ExampleDecoder() {
	var d Decoder
	x := obd.Exchange{
		Sent: 1000 * time.Millisecond, Request: "010C0D", Done: 1024 * time.Millisecond, Form: obd.FormCAN11,
		Lines: []obd.Line{
			{At: 1018 * time.Millisecond, Text: "7E8 06 41 0C 1A F8 0D 64"},
			{At: 1021 * time.Millisecond, Text: "7E9 03 41 0D 63"},
			{At: 1022 * time.Millisecond, Text: "7E8 06 41 0C 1A F8 <DATA ERROR"},
		},
	}
	for _, s := range d.Decode(&x).Samples {
		fmt.Printf("%v %s %-3s %6.1f\n", s.At, s.ECU, s.Signal, s.Value)
	}
	fmt.Println("dropped lines:", d.Counts.Damaged)
	// Output:
	// 1.018s 7E8 RPM 1726.0
	// 1.018s 7E8 VSS  100.0
	// 1.021s 7E9 VSS   99.0
	// dropped lines: 1
}
