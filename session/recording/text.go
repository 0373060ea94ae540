package recording

import (
	"strings"
	"unicode/utf8"

	"github.com/judder-obd/judder/prose"
)

const hexDigits = "0123456789abcdef"

// appendRaw appends raw bytes as a JSON string: byte n as the code point U+00n (Latin-1),
// so that no byte is lost and the file stays valid UTF-8. Control characters are escaped.
func appendRaw(dst []byte, raw string) []byte {
	dst = append(dst, '"')
	for i := range len(raw) {
		switch b := raw[i]; {
		case b == '"' || b == '\\':
			dst = append(dst, '\\', b)
		case b < 0x20 || b >= 0x7f && b <= 0x9f:
			dst = append(dst, '\\', 'u', '0', '0', hexDigits[b>>4], hexDigits[b&15])
		case b < 0x7f:
			dst = append(dst, b)
		default:
			dst = append(dst, 0xc0|b>>6, 0x80|b&0x3f)
		}
	}
	return append(dst, '"')
}

// appendText appends words as a JSON string in UTF-8, cleaned as by cleanText.
func appendText(dst []byte, text string) []byte {
	dst = append(dst, '"')
	for _, r := range text { // a byte that is no UTF-8 comes as U+FFFD
		switch {
		case r == '"' || r == '\\':
			dst = append(dst, '\\', byte(r))
		case prose.Steers(r):
			dst = append(dst, ' ')
		default:
			dst = utf8.AppendRune(dst, r)
		}
	}
	return append(dst, '"')
}

// cleanText makes words safe to show: what steers a terminal becomes a space, and bytes that
// are no UTF-8 become U+FFFD.
func cleanText(text string) string {
	if !strings.ContainsFunc(text, prose.Steers) && utf8.ValidString(text) {
		return text
	}
	return strings.Map(func(r rune) rune {
		if prose.Steers(r) {
			return ' '
		}
		return r
	}, text)
}

// rawFromLatin1 gives back the bytes of a Latin-1 string; ok is false when it holds a character
// above U+00FF, which is no byte.
func rawFromLatin1(s string) (raw string, ok bool) {
	b := make([]byte, 0, len(s))
	for _, r := range s {
		if r > 0xff {
			return "", false
		}
		b = append(b, byte(r))
	}
	return string(b), true
}
