package identity

import (
	"bytes"
	"slices"
)

// vinMark replaces a hidden character of a number.
const vinMark = '*'

// HideVINs overwrites with asterisks the last six characters of every vehicle identification
// number in a reply, service byte first, or in a part of a reply. It finds a number
//
//   - after info type 49 02 (SAE J1979),
//   - after the identifiers F190 (ISO 14229-1) and F802 (SAE J1979-2), anywhere in the reply,
//   - as seventeen or more characters in a row that read like one, anywhere,
//   - and as one of the known numbers, anywhere.
//
// Bytes that are missing from the reply may be zero. It returns the numbers that were whole.
func HideVINs(reply []byte, known ...string) (found []string) {
	whole := slices.Clone(reply)
	for at := range whole {
		data, marked := behindMarker(whole, at)
		if !marked {
			continue
		}
		begin := len(whole) - len(data)
		sure := at == 0 || at == 1 && reply[0] == 0x62
		if len(data) >= vinLength && (wellVIN(data[:vinLength]) || sure && alphanumeric(data[:vinLength])) {
			found = append(found, string(data[:vinLength]))
		}
		for i := begin + vinLength - vinMasked; i < min(begin+vinLength, len(reply)); i++ {
			if reply[i] > ' ' && reply[i] <= '~' {
				reply[i] = vinMark
			}
		}
	}
	found = append(found, hideRows(whole, reply)...)
	slices.Sort(found)
	found = slices.Compact(found)
	for _, vin := range append(slices.Clone(known), found...) {
		hideEnd(whole, reply, vin)
	}
	return found
}

// behindMarker returns the data from the first character of the number on, when there is a
// marker of an identification number at a byte.
func behindMarker(reply []byte, at int) (data []byte, marked bool) {
	const surely = 3 // so many characters show that a number follows
	switch rest := reply[at:]; {
	case at == 0 && bytes.HasPrefix(rest, []byte{0x49, 0x02}):
		return unpadded(rest[2:]), true
	case bytes.HasPrefix(rest, []byte{0xF1, 0x90}), bytes.HasPrefix(rest, []byte{0xF8, 0x02}):
		data = unpadded(rest[2:])
		return data, at == 1 && reply[0] == 0x62 || len(data) >= surely && wellVIN(data[:surely])
	}
	return nil, false
}

// hideRows hides in out the end of each row of seventeen or more characters that a number may
// have, with both letters and digits: a maker's own reply has no marker that is known. It
// returns the rows of exactly seventeen.
func hideRows(reply, out []byte) (found []string) {
	digit := func(c byte) bool { return c >= '0' && c <= '9' }
	for from := 0; from < len(reply); from++ {
		to := from
		for to < len(reply) && wellVIN(reply[to:to+1]) {
			to++
		}
		row := reply[from:to]
		if len(row) >= vinLength && slices.ContainsFunc(row, digit) && slices.ContainsFunc(row, func(c byte) bool { return !digit(c) }) {
			for i := from + vinLength - vinMasked; i < to; i++ {
				out[i] = vinMark
			}
			if len(row) == vinLength {
				found = append(found, string(row))
			}
		}
		from = to
	}
	return found
}

// unpadded cuts off the count and the zeros in front of a number.
func unpadded(b []byte) []byte {
	const most = 4
	for range most {
		if len(b) > 0 && b[0] <= ' ' {
			b = b[1:]
		}
	}
	return b
}

func wellVIN(b []byte) bool {
	return !slices.ContainsFunc(b, func(c byte) bool { _, ok := vinValue(c); return !ok })
}

// alphanumeric reports whether there are letters and digits only. Some cars have a number that
// breaks the rules for numbers; it is hidden like any other.
func alphanumeric(b []byte) bool {
	return !slices.ContainsFunc(b, func(c byte) bool {
		return (c < '0' || c > '9') && (c < 'A' || c > 'Z') && (c < 'a' || c > 'z')
	})
}

// hideEnd hides in out each place where a reply has the last six characters of a number.
func hideEnd(reply, out []byte, vin string) {
	if len(vin) != vinLength {
		return
	}
	end := []byte(vin[vinLength-vinMasked:])
	for at := 0; at+vinMasked <= len(reply); at++ {
		if bytes.Equal(reply[at:at+vinMasked], end) {
			for i := range end {
				out[at+i] = vinMark
			}
		}
	}
}
