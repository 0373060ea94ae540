package simcar

import "time"

// Protocol is an adapter's protocol number, 0 (automatic) to 12 (shown as C).
type Protocol uint8

// The protocols by their numbers (ELM327 data sheet p.25).
const (
	Automatic   Protocol = iota
	J1850PWM             // SAE J1850, 41.6 kbaud
	J1850VPW             // SAE J1850, 10.4 kbaud
	ISO9141              // ISO 9141-2, 5-baud initialisation
	KWPSlow              // ISO 14230-4, 5-baud initialisation
	KWPFast              // ISO 14230-4, fast initialisation
	CAN11at500           // ISO 15765-4, 11-bit ids, 500 kbit/s
	CAN29at500           // ISO 15765-4, 29-bit ids, 500 kbit/s
	CAN11at250           // ISO 15765-4, 11-bit ids, 250 kbit/s
	CAN29at250           // ISO 15765-4, 29-bit ids, 250 kbit/s
	J1939                // SAE J1939, 250 kbit/s; no ECU here speaks it
	UserCAN125           // user CAN 1
	UserCAN50            // user CAN 2
	protocolEnd          // one past the last
)

// busKind is what a protocol runs on.
type busKind uint8

const (
	busNone busKind = iota
	busPWM
	busVPW
	bus9141
	busKWP
	busCAN
)

// protocolRow is what the adapter knows of a protocol.
type protocolRow struct {
	name     string // as AT DP shows it
	kind     busKind
	extended bool          // 29-bit ids
	kbit     int           // CAN only
	byteTime time.Duration // older buses; CAN frames are timed by frameTime
	setUp    time.Duration // initialisation
	giveUp   time.Duration // time an automatic search loses here when the car is on another
	header   uint32        // header of a request when none is set
}

// protocolTable has a row for each Protocol. Names from memory of the ELM327 data sheet;
// giveUp is a choice made here, about 6 s for all together.
var protocolTable = [protocolEnd]protocolRow{
	Automatic:  {name: "AUTO"},
	J1850PWM:   {"SAE J1850 PWM", busPWM, false, 0, pwmByte, 0, 100 * time.Millisecond, 0x616AF1},
	J1850VPW:   {"SAE J1850 VPW", busVPW, false, 0, vpwByte, 0, 150 * time.Millisecond, 0x686AF1},
	ISO9141:    {"ISO 9141-2", bus9141, false, 0, klineByte, slowInit, slowInit, 0x686AF1},
	KWPSlow:    {"ISO 14230-4 (KWP 5BAUD)", busKWP, false, 0, klineByte, slowInit, slowInit, 0xC233F1},
	KWPFast:    {"ISO 14230-4 (KWP FAST)", busKWP, false, 0, klineByte, fastInit, fastInit, 0xC233F1},
	CAN11at500: {"ISO 15765-4 (CAN 11/500)", busCAN, false, 500, 0, 0, 100 * time.Millisecond, 0x7DF},
	CAN29at500: {"ISO 15765-4 (CAN 29/500)", busCAN, true, 500, 0, 0, 100 * time.Millisecond, 0xDB33F1},
	CAN11at250: {"ISO 15765-4 (CAN 11/250)", busCAN, false, 250, 0, 0, 100 * time.Millisecond, 0x7DF},
	CAN29at250: {"ISO 15765-4 (CAN 29/250)", busCAN, true, 250, 0, 0, 100 * time.Millisecond, 0xDB33F1},
	J1939:      {"SAE J1939 (CAN 29/250)", busCAN, true, 250, 0, 0, 100 * time.Millisecond, 0xEAFFF9},
	UserCAN125: {"USER1 (CAN 11/125)", busCAN, false, 125, 0, 0, 100 * time.Millisecond, 0x7DF},
	UserCAN50:  {"USER2 (CAN 11/50)", busCAN, false, 50, 0, 0, 100 * time.Millisecond, 0x7DF},
}

// searchOrder is the order of an automatic search after the remembered protocol: the
// buses that are quickly ruled out come first.
var searchOrder = []Protocol{CAN11at500, CAN29at500, CAN11at250, CAN29at250, J1850PWM, J1850VPW, KWPFast, ISO9141, KWPSlow}

func (p Protocol) row() *protocolRow { return &protocolTable[p] }

// isOBD reports whether the protocol is one that an ECU here can be on.
func (p Protocol) isOBD() bool { return p >= J1850PWM && p <= CAN29at250 }

// digit is the number as AT DPN shows it.
func (p Protocol) digit() byte { return "0123456789ABC"[p] }

// slow reports whether the bus must be woken by an initialisation.
func (r *protocolRow) slow() bool { return r.kind == bus9141 || r.kind == busKWP }

// maxData is the number of data bytes that one request may have.
func (r *protocolRow) maxData(long bool) int {
	switch {
	case r.kind == busKWP && long:
		return 63
	case r.kind != busCAN && long:
		return 8
	default:
		return 7
	}
}

// frameTime is the time that a frame of eight bytes takes on CAN: about 125 bits
// (11-bit ids) or 145 (29-bit), stuffing included.
func (r *protocolRow) frameTime() time.Duration {
	bits := 125
	if r.extended {
		bits = 145
	}
	return time.Duration(bits) * time.Second / time.Duration(1000*r.kbit)
}
