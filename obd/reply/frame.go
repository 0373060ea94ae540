package reply

import (
	"slices"

	"github.com/judder-obd/judder/obd"
)

// frame is one reply line taken apart: who sent it, and its bytes after the header.
type frame struct {
	id    uint32 // CAN identifier, or the sender's address on the older buses; 0 when bare
	bytes []byte // CAN: protocol control byte first; older buses: service first
	head  int    // hex digits in front of them
}

// parseFrame takes a reply line apart, spaces or not, and appends its bytes to dst. It
// reports false for a line that is not whole: other characters than hex digits, half a
// byte, a header that no ECU answers with, a check byte that does not fit.
func parseFrame(dst []byte, form obd.Form, text string) (f frame, all []byte, ok bool) {
	head := 0 // hex digits in front of the bytes
	switch form {
	case obd.FormCAN11:
		head = 3
	case obd.FormCAN29:
		head = 8
	}
	start, digits, half := len(dst), 0, byte(0)
	for i := range len(text) {
		c := text[i]
		if c == ' ' {
			continue
		}
		if !obd.IsHex(c) {
			return frame{}, dst[:start], false
		}
		v := obd.HexValue(c)
		switch {
		case digits < head:
			f.id = f.id<<4 | uint32(v)
		case (digits-head)%2 == 0:
			half = v
		default:
			dst = append(dst, half<<4|v)
		}
		digits++
	}
	f.bytes, f.head = dst[start:], head
	if digits <= head || (digits-head)%2 != 0 {
		return frame{}, dst[:start], false
	}
	switch form {
	case obd.FormCAN11:
		ok = len(f.bytes) <= 8 && f.id <= 0x7FF
	case obd.FormCAN29:
		ok = len(f.bytes) <= 8 && f.id&^0xFF == 0x18DAF100
	case obd.FormKLine, obd.FormJ1850:
		ok = f.takeLegacyHeader(form)
	default:
		ok = true
	}
	return f, dst, ok
}

// takeLegacyHeader checks the last byte and cuts off the three header bytes and the check.
func (f *frame) takeLegacyHeader(form obd.Form) bool {
	n := len(f.bytes)
	if n < 5 {
		return false
	}
	sum := KLineSum
	if form == obd.FormJ1850 {
		sum = J1850CRC
	}
	if sum(f.bytes[:n-1]) != f.bytes[n-1] {
		return false
	}
	f.id = uint32(f.bytes[2])
	head := 3
	if form == obd.FormKLine && f.bytes[0]&0x3F == 0 { // ISO 14230-2: the length is in a byte of its own
		if head = 4; n < 6 || int(f.bytes[3]) != n-5 {
			return false
		}
	}
	f.bytes, f.head = f.bytes[head:n-1], 2*head
	return true
}

// KLineSum is the check byte of ISO 9141-2 and ISO 14230: the sum modulo 256.
func KLineSum(b []byte) byte {
	var sum byte
	for _, c := range b {
		sum += c
	}
	return sum
}

// J1850CRC is the check byte of SAE J1850: CRC-8, polynomial 1D, begun with FF, inverted.
func J1850CRC(b []byte) byte {
	crc := byte(0xFF)
	for _, c := range b {
		crc ^= c
		for range 8 {
			if crc&0x80 != 0 {
				crc = crc<<1 ^ 0x1D
			} else {
				crc <<= 1
			}
		}
	}
	return ^crc
}

// IsPadding reports whether a byte is one that ECUs fill frames of CAN up with (common practice,
// no source).
func IsPadding(c byte) bool { return slices.Contains([]byte{0x00, 0x55, 0xAA, 0xCC, 0xFF}, c) }
