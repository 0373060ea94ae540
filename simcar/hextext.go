package simcar

import (
	"strconv"
	"strings"
)

// hexNumber is a hexadecimal number whose digits were checked.
func hexNumber(arg string) uint32 {
	n, err := strconv.ParseUint(arg, 16, 32)
	if err != nil {
		return 0
	}
	return uint32(n)
}

// pairs reads hexadecimal digits two by two.
func pairs(text string) ([]byte, bool) {
	if len(text)%2 != 0 || !isHex(text) {
		return nil, false
	}
	b := make([]byte, 0, len(text)/2)
	for i := 0; i < len(text); i += 2 {
		b = append(b, hexValue(text[i])<<4|hexValue(text[i+1]))
	}
	return b, true
}

func hexValue(c byte) byte {
	if c <= '9' {
		return c - '0'
	}
	return c - 'A' + 10
}

func isHex(text string) bool {
	return strings.Trim(text, "0123456789ABCDEF") == ""
}
