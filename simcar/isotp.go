package simcar

import "time"

// Frame control bytes of ISO 15765-2 (upper nibble of the first byte).
const (
	singleFrame      = 0x00
	firstFrame       = 0x10
	consecutiveFrame = 0x20
	flowControl      = 0x30
)

// appendSegments cuts a payload into CAN frames of eight bytes, filled up with pad:
//
//	0L data…            single, L = 1…7
//	1L LL data…         first, 12-bit length, 6 data bytes
//	2S data…            consecutive, S = 1…F, 0, …, 7 data bytes
//
// A payload longer than 4095 bytes cannot be sent by this form and is cut there.
func appendSegments(dst [][8]byte, payload []byte, pad byte) [][8]byte {
	payload = payload[:min(len(payload), 0xFFF)]
	if len(payload) <= 7 {
		return append(dst, filled(singleFrame|byte(len(payload)), payload, pad))
	}
	var first [8]byte
	first[0] = firstFrame | byte(len(payload)>>8)
	first[1] = byte(len(payload))
	copy(first[2:], payload)
	dst = append(dst, first)
	sequence := byte(1)
	for rest := payload[6:]; len(rest) > 0; rest = rest[min(7, len(rest)):] {
		dst = append(dst, filled(consecutiveFrame|sequence, rest, pad))
		sequence = (sequence + 1) & 0x0F
	}
	return dst
}

// filled is one frame: control byte, up to seven data bytes, padding.
func filled(control byte, data []byte, pad byte) [8]byte {
	f := [8]byte{control, pad, pad, pad, pad, pad, pad, pad}
	copy(f[1:], data[:min(7, len(data))])
	return f
}

// singlePayload is the data of a single frame as an ECU takes it; ok is false for any
// other frame and for a length that the frame does not hold.
func singlePayload(frame []byte) (data []byte, ok bool) {
	if len(frame) == 0 || frame[0]&0xF0 != singleFrame {
		return nil, false
	}
	n := int(frame[0])
	if n == 0 || n > 7 || n > len(frame)-1 {
		return nil, false
	}
	return frame[1 : 1+n], true
}

// separation is the gap between consecutive frames that a flow control frame asks for;
// ok is false when it says wait or overflow, or is no flow control frame.
func separation(frame []byte) (gap time.Duration, ok bool) {
	if len(frame) < 1 || frame[0] != flowControl {
		return 0, false
	}
	if len(frame) < 3 {
		return 0, true
	}
	switch st := frame[2]; {
	case st <= 0x7F:
		return time.Duration(st) * time.Millisecond, true
	case st >= 0xF1 && st <= 0xF9:
		return time.Duration(st-0xF0) * 100 * time.Microsecond, true
	default: // reserved: the longest time of the standard
		return 127 * time.Millisecond, true
	}
}
