package simcar

import "time"

// K-line times (ISO 9141-2, ISO 14230-4): 10.4 kbaud, 10 bits a byte.
const (
	klineByte     = 962 * time.Microsecond
	klineP4       = 5 * time.Millisecond  // between bytes of the tester
	klineP2       = 25 * time.Millisecond // request to reply, at least
	klineP3       = 55 * time.Millisecond // reply to next request, at least
	slowInit      = 2500 * time.Millisecond
	fastInit      = 300 * time.Millisecond
	klineSleep    = 5 * time.Second // an ECU that hears nothing for so long must be woken again
	klineOverhead = 4               // three header bytes and the sum
)

// checksum is the last byte of a K-line message: the sum of all others, modulo 256.
func checksum(b []byte) byte {
	var sum byte
	for _, v := range b {
		sum += v
	}
	return sum
}

// iso9141Reply is an ECU's message on ISO 9141-2: 48 6B address data… sum.
func iso9141Reply(address byte, data []byte) []byte {
	b := append([]byte{0x48, 0x6B, address}, data...)
	return append(b, checksum(b))
}

// kwpReply is an ECU's message on ISO 14230-4: 80+length F1 address data… sum.
func kwpReply(address byte, data []byte) []byte {
	b := append([]byte{0x80 | byte(len(data)), 0xF1, address}, data...)
	return append(b, checksum(b))
}
