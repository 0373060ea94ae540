package prose

import "unicode/utf8"

// ascii holds what stands for a character on a terminal that shows no other than ASCII, one for
// one, so that columns stay in place. Braille cells and letters with marks follow rules of their own.
var ascii = map[rune]byte{
	'─': '-', '━': '-', '┄': '-', '╍': '-', '╶': '-', '│': '|', '┃': '|', '┤': '|', '┼': '+', '╭': '.', '╮': '.', '╯': '\'', '╰': '\'',
	'▁': '_', '▂': '_', '▃': '.', '▄': ':', '▅': ':', '▆': '=', '▇': '#', '█': '#', '░': '.', '▒': ':', '▓': '#',
	'▲': '^', '▼': 'v', '◆': '*', '●': '*', '○': 'o', '→': '>', '←': '<', '↑': '^', '↓': 'v', '›': '>', '▸': '>', '✓': '+', '✗': 'x',
	'–': '-', '−': '-', '—': '-', '…': '~', '·': '.', '×': 'x', '÷': '/', '±': '~', '≥': '>', '≤': '<', '°': ' ', '²': '2', '³': '3',
	'µ': 'u', 'ä': 'a', 'ö': 'o', 'ü': 'u', 'é': 'e', 'è': 'e', '’': '\'', '“': '"', '”': '"', '′': '\'', '\u00a0': ' ',
}

// AppendASCII appends text to dst with one ASCII character for each that is none: a look-alike, a
// dot picture by its upper and lower half, else "?". A character two cells wide becomes "??".
func AppendASCII(dst, text []byte) []byte {
	for len(text) > 0 {
		r, size := utf8.DecodeRune(text)
		text = text[size:]
		switch stands, known := ascii[r]; {
		case r < utf8.RuneSelf:
			dst = append(dst, byte(r))
		case known:
			dst = append(dst, stands)
		case r >= 0x2800 && r <= 0x28FF:
			dst = append(dst, dots(r))
		default:
			for range max(1, Cells(string(r))) {
				dst = append(dst, '?')
			}
		}
	}
	return dst
}

// dots is the ASCII character most like a braille cell: its upper half, its lower half, or both
// (The Unicode Standard, block Braille Patterns: dots 1 2 4 5 are the upper half).
func dots(r rune) byte {
	const upper, lower = 0x1B, 0xE4
	switch up, down := r&upper != 0, r&lower != 0; {
	case up && down:
		return ':'
	case up:
		return '\''
	case down:
		return '.'
	}
	return ' '
}
