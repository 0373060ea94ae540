package recording

import (
	"bytes"
	"hash/crc32"
)

// castagnoli is the table of CRC-32C (RFC 3720 §12.1), for which processors have an
// instruction.
var castagnoli = crc32.MakeTable(crc32.Castagnoli)

const (
	sealOpen = `,"crc":"`
	sealLen  = len(sealOpen) + 8 + len(`"}`)
)

// seal closes a line: the CRC of all bytes so far as the last field, and a line feed.
func seal(line []byte) []byte {
	sum := crc32.Checksum(line, castagnoli)
	line = append(line, sealOpen...)
	for shift := 28; shift >= 0; shift -= 4 {
		line = append(line, hexDigits[sum>>shift&15])
	}
	return append(line, "\"}\n"...)
}

// unseal gives the part of a line that its CRC covers, and whether the CRC is right. The
// line comes without its line feed. It accepts white space around the tokens of the
// field, which our own lines do not have.
func unseal(line []byte) (body []byte, err error) {
	if n := len(line) - sealLen; n >= 0 && string(line[n:n+len(sealOpen)]) == sealOpen &&
		string(line[len(line)-2:]) == `"}` {
		return checked(line[:n], line[n+len(sealOpen):len(line)-2])
	}
	rest, digits, ok := looseSeal(line)
	if !ok {
		return nil, ErrNoChecksum
	}
	return checked(rest, digits)
}

// looseSeal finds the crc field at the end of a line that has white space in it.
func looseSeal(line []byte) (body, digits []byte, ok bool) {
	rest := line
	for _, token := range [...]string{"}", `"`} {
		if rest, ok = cutEnd(rest, token); !ok {
			return nil, nil, false
		}
	}
	if len(rest) < 8 {
		return nil, nil, false
	}
	digits, rest = rest[len(rest)-8:], rest[:len(rest)-8]
	if len(rest) == 0 || rest[len(rest)-1] != '"' {
		return nil, nil, false
	}
	for _, token := range [...]string{`"`, ":", `"crc"`, ","} {
		if rest, ok = cutEnd(rest, token); !ok {
			return nil, nil, false
		}
	}
	return rest, digits, true
}

// cutEnd takes white space and then the token off the end of b.
func cutEnd(b []byte, token string) ([]byte, bool) {
	return bytes.CutSuffix(bytes.TrimRight(b, " \t\r"), []byte(token))
}

// checked compares the CRC of body with eight digits; capitals are refused, so that no
// change of a single bit in the field goes unseen.
func checked(body, digits []byte) ([]byte, error) {
	var want uint32
	for _, c := range digits {
		switch {
		case c >= '0' && c <= '9':
			want = want<<4 | uint32(c-'0')
		case c >= 'a' && c <= 'f':
			want = want<<4 | uint32(c-'a'+10)
		default:
			return nil, ErrNoChecksum
		}
	}
	if crc32.Checksum(body, castagnoli) != want {
		return nil, ErrChecksum
	}
	return body, nil
}
