package simcar

import (
	"slices"
	"time"
)

// ECU is one control unit that answers. Change its fields before New, or afterwards
// within Sim.Change.
type ECU struct {
	Place
	Pace
	Identity
	Memory
	Manners

	Name        string            // service $09 ECU name, up to 20 characters
	PIDs        []byte            // service $01 PIDs it supports, without the support maps
	Requirement byte              // PID $1C
	DIDs        map[uint16][]byte // service $22
	Refusals    []Refusal
}

// Place is where an ECU is on the bus.
type Place struct {
	ReplyID   uint16 // 11-bit id of its replies, 7E8…7EF; it is asked at ReplyID−8
	RequestID uint16 // 11-bit id at which it is asked; 0: ReplyID − 8
	Address   byte   // address on 29-bit CAN, K-line and J1850
	Module    bool   // a further module: asked by its own address only, and by services 19, 22, 3E only
}

// Pace is how fast an ECU answers.
type Pace struct {
	Delay  time.Duration // from the request to the first frame of the reply
	Jitter time.Duration // up to so much more, uniformly spread
	// Refresh holds each measured value for so long, as an ECU does that computes its
	// values in a slower task; zero measures again for each reply.
	Refresh time.Duration
}

// Identity is what service $09 reads beside the name.
type Identity struct {
	VIN, CalibrationID string // without padding
	CVN                uint32 // calibration verification number
}

// Memory is what an ECU remembers of faults and tests.
type Memory struct {
	Stored, Pending, Permanent []Code
	Freeze                     *Freeze // nil: no freeze frame stored
	Misfires                   []Misfire
	NotReady                   byte         // PID $01 byte D: tests not yet complete
	LegacyTests                []LegacyTest // service $06 on the older buses

	Status     []StatusCode // codes of service 19 with failure type and status; those above have others
	StatusMask byte         // status bits that it keeps; 0: all for a Module, else 0D
	CodeFormat byte         // of a Module: 00 SAE J2012 with failure type, 01 ISO 14229-1, 02 SAE J1939; others have 04

	cleared *clearing // nil: never since New
}

// Manners are how an ECU words its replies, where the standards leave it open or differ.
type Manners struct {
	OBDonUDS           bool // SAE J1979-2: no services $01–$0A, F4xx and F8xx instead
	CountedInfo        bool // a count of items before the data of F8xx, as service $09 has it
	SilentWithoutCodes bool // older buses: silent to $03 and $07 rather than 43 00 00 00 00 00 00
	Pad                byte // fills CAN frames up: 00, 55 or AA
	ReplyOrder         ReplyOrder
}

// Misfire is a cylinder's two counters of service $06 (SAE J1979: TID $0B and $0C).
type Misfire struct {
	Average uint16 // weighted average of the last ten drive cycles
	Current uint16 // this drive cycle; Condition.Misfires has precedence
}

// Freeze is a stored freeze frame.
type Freeze struct {
	Code      Code
	Condition Condition
}

// ReplyOrder is the order of the PIDs in a reply to a bundled request; the standard
// leaves it open (ELM327 data sheet p.45).
type ReplyOrder uint8

// The orders.
const (
	AsAsked ReplyOrder = iota
	Ascending
	Reversed
)

// enginePIDs are what the engine of EngineECU supports.
var enginePIDs = []byte{
	0x01, 0x03, 0x04, 0x05, 0x06, 0x07, 0x0B, 0x0C, 0x0D, 0x0E, 0x0F, 0x10, 0x11, 0x13, 0x14, 0x15, 0x1C, 0x1F,
	0x21, 0x2E, 0x2F, 0x30, 0x31, 0x32, 0x33, 0x41, 0x42, 0x43, 0x44, 0x45, 0x46, 0x49, 0x4A, 0x4C, 0x51, 0x5A, 0x5C, 0x5E,
	0x61, 0x62, 0x63, 0xA6,
}

// EngineECU is an engine control unit with the common PIDs: 7E8, address 10, answering
// in 8–12 ms.
func EngineECU() *ECU {
	return &ECU{
		Name: "ECM-EngineControl", PIDs: slices.Clone(enginePIDs), Requirement: 7,
		Place:    Place{ReplyID: 0x7E8, Address: 0x10},
		Pace:     Pace{Delay: 8 * time.Millisecond, Jitter: 4 * time.Millisecond},
		Identity: Identity{VIN: "0TEST11A0K0000002", CalibrationID: "SIMCAR-ENG-0001", CVN: 0x1791BC82},
		Memory:   Memory{Misfires: make([]Misfire, 4)},
		Manners:  Manners{Pad: 0xAA},
	}
}

// TransmissionECU is a transmission control unit: 7E9, address 18. It knows engine speed
// and road speed too, answers later than the engine, and refreshes every 20 ms.
func TransmissionECU() *ECU {
	return &ECU{
		Name: "TCM-TransmisControl", PIDs: []byte{0x01, 0x05, 0x0C, 0x0D, 0x1C, 0xA4}, Requirement: 7,
		Place:    Place{ReplyID: 0x7E9, Address: 0x18},
		Pace:     Pace{Delay: 14 * time.Millisecond, Jitter: 6 * time.Millisecond, Refresh: 20 * time.Millisecond},
		Identity: Identity{CalibrationID: "SIMCAR-TCM-0001", CVN: 0x00C0FFEE},
	}
}

// supports reports whether a PID is one of the ECU's, support maps included.
func (e *ECU) supports(pid byte) bool {
	if pid%0x20 == 0 {
		if pid == 0 {
			return true
		}
		for _, p := range e.PIDs {
			if p > pid {
				return true
			}
		}
		return false
	}
	for _, p := range e.PIDs {
		if p == pid {
			return true
		}
	}
	return false
}

// monitorsSupported is byte C of PID $01: the tests of this spark-ignition engine that do not
// run all the time.
const monitorsSupported = 0xE5

// monitorStatus is PID $01: lamp and count, then a spark-ignition engine (SAE J1979; with all
// tests complete bytes B–D are as the worked example 41 01 00 07 E5 00).
func (m *Memory) monitorStatus() []byte {
	a := byte(min(len(m.Stored), 0x7F))
	if a > 0 {
		a |= 0x80
	}
	return []byte{a, 0x07, monitorsSupported, m.NotReady & monitorsSupported}
}
