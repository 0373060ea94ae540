package simcar

import "time"

// BrakesModule is a further computer at 760, which replies at 768: one code that is
// history, one that fails now and one that was never tested.
func BrakesModule() *ECU {
	return &ECU{
		Name: "brakes", Module: true, RequestID: 0x760, ReplyID: 0x768, Address: 0x28, Delay: 25 * time.Millisecond, Pad: 0x00,
		Status: []StatusCode{{Codes("U0140")[0], 0x00, 0x28}, {Codes("C0035")[0], 0x11, 0x2F}, {Codes("C0040")[0], 0x00, 0x50}},
		DIDs:   map[uint16][]byte{0xF187: []byte("SIMCAR-ABS-01")},
	}
}

// BodyModule is a further computer at 710, whose replies come at 77A and not 8 higher.
func BodyModule() *ECU {
	return &ECU{
		Name: "body", Module: true, RequestID: 0x710, ReplyID: 0x77A, Address: 0x40, Delay: 35 * time.Millisecond, Pad: 0xAA,
		Status: []StatusCode{{Codes("U0100")[0], 0x87, 0x28}, {Codes("U0121")[0], 0x87, 0x28}, {Codes("U0155")[0], 0x00, 0x68}},
		DIDs:   map[uint16][]byte{0xF187: []byte("SIMCAR-BCM-01")},
	}
}

// SuccessorECU is an engine computer after SAE J1979-2.
func SuccessorECU() *ECU {
	e := EngineECU()
	e.OBDonUDS = true
	return e
}
