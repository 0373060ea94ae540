package simcar

import "time"

// J1850 times: about 0.77 ms a byte on VPW and 0.19 ms on PWM (symbol times of SAE J1850).
const (
	vpwByte = 770 * time.Microsecond
	pwmByte = 192 * time.Microsecond
)

// crc8 is the check byte of SAE J1850: polynomial 1D, start FF, inverted at the end.
func crc8(b []byte) byte {
	crc := byte(0xFF)
	for _, v := range b {
		crc ^= v
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

// j1850Reply is an ECU's message: header, address, data, CRC. VPW begins with 48, PWM with 41.
func j1850Reply(priority, address byte, data []byte) []byte {
	b := append([]byte{priority, 0x6B, address}, data...)
	return append(b, crc8(b))
}
