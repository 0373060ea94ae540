package simcar

import (
	"fmt"
	"time"
)

// Identifiers of ISO 14229-1 that the further modules know.
const (
	partNumber = 0xF187 // spare part number
	vinNumber  = 0xF190
)

// moduleServices are the services of a further module; all others get 7F xx 11, among
// them $01 to $0A of SAE J1979 and clearing.
var moduleServices = map[byte]bool{0x19: true, 0x22: true, 0x3E: true}

// ModuleECU is a further module, such as that of the brakes: it hears no functional request,
// knows services 19, 22 and 3E only, and sits on CAN only. Its ids are those of 11-bit CAN
// (760 and 768; 710 and 77A), those of 29-bit CAN (18DA28F1 and 18DAF128), or its address on
// 29-bit CAN (28) with a reply id of 0. It panics on others. Its part number and VIN
// (identifiers F187 and F190) are in DIDs, to be changed.
func ModuleECU(name string, requestID, replyID uint32, codes ...StatusCode) *ECU {
	e := &ECU{
		Name: name, Place: Place{Module: true}, Pace: Pace{Delay: 25 * time.Millisecond}, Memory: Memory{Status: codes},
		DIDs: map[uint16][]byte{partNumber: []byte("SIMCAR-0001"), vinNumber: []byte("0TEST11A0K0000002")},
	}
	address := requestID >> 8 & 0xFF
	switch {
	case requestID <= 0xFF && requestID > 0 && replyID == 0:
		e.Address = byte(requestID)
	case requestID == physical29|address<<8 && replyID == reply29|address:
		e.Address = byte(address)
	case requestID <= 0x7FF && requestID > 0xFF && replyID <= 0x7FF && replyID != requestID:
		e.RequestID, e.ReplyID = uint16(requestID), uint16(replyID)
	default:
		panic(fmt.Sprintf("simcar: ModuleECU: no module is asked at %X and replies at %X", requestID, replyID))
	}
	return e
}

// BrakesModule is a further module at 760, which replies at 768, or at 28 on 29 bits: one
// code that is history, one that fails now, with its snapshot and extended data, and one that
// was never tested. The identifiers of the snapshot are the maker's and mean nothing.
func BrakesModule() *ECU {
	e := ModuleECU("brakes", 0x760, 0x768,
		StatusCode{Code: Codes("U0140")[0], Status: 0x28},
		StatusCode{Code: Codes("C0035")[0], FailureType: 0x11, Status: 0x2F,
			Snapshots: []Snapshot{{Number: 0x01, Data: []Identifier{{0x4001, []byte{0x27, 0x10}}, {0x4002, []byte{0x7C}}}}},
			Extended:  []ExtendedRecord{{Number: 0x01, Data: []byte{0x05}}}},
		StatusCode{Code: Codes("C0040")[0], Status: 0x50})
	e.Address, e.DIDs[partNumber] = 0x28, []byte("SIMCAR-ABS-01")
	return e
}

// BodyModule is a further module at 710, whose replies come at 77A and not 8 higher, or at
// 40 on 29 bits: three codes that are history.
func BodyModule() *ECU {
	e := ModuleECU("body", 0x710, 0x77A,
		StatusCode{Code: Codes("U0100")[0], FailureType: 0x87, Status: 0x28},
		StatusCode{Code: Codes("U0121")[0], FailureType: 0x87, Status: 0x28},
		StatusCode{Code: Codes("U0155")[0], Status: 0x68})
	e.Address, e.Delay, e.Pad, e.DIDs[partNumber] = 0x40, 35*time.Millisecond, 0xAA, []byte("SIMCAR-BCM-01")
	return e
}

// ClusterModule is a further module at 720, which replies at 728, or at 60 on 29 bits: one
// code that is pending, one that comes and goes, and one that was never tested.
func ClusterModule() *ECU {
	e := ModuleECU("cluster", 0x720, 0x728,
		StatusCode{Code: Codes("U0121")[0], FailureType: 0x87, Status: 0x24},
		StatusCode{Code: Codes("U0401")[0], FailureType: 0x81, Status: 0x2C},
		StatusCode{Code: Codes("U0140")[0], Status: 0x50})
	e.Address, e.Pad, e.DIDs[partNumber] = 0x60, 0x55, []byte("SIMCAR-IPC-01")
	return e
}

// SteeringModule is a further module at 730, which replies at 738, or at 30 on 29 bits: one
// code that is history.
func SteeringModule() *ECU {
	e := ModuleECU("steering", 0x730, 0x738, StatusCode{Code: Codes("C0051")[0], Status: 0x28})
	e.Address, e.DIDs[partNumber] = 0x30, []byte("SIMCAR-EPS-01")
	return e
}

// SuccessorECU is an engine ECU after SAE J1979-2: no services $01 to $0A; F4xx, F8xx
// and service 19 in their place.
func SuccessorECU() *ECU {
	e := EngineECU()
	e.OBDonUDS = true
	return e
}
