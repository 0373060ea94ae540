package redact

import "bytes"

// On the older buses, service 09 replies in numbered rows of four bytes, each a message of its
// own (SAE J1979):
//
//	49 02 01 00 00 00 c1
//	49 02 02 c2 c3 c4 c5
//	49 02 03 c6 c7 c8 c9
//	49 02 04 c10 c11 c12 c13
//	49 02 05 c14 c15 c16 c17
//
// So the row's number alone says which characters of the vehicle's number it holds.
const (
	rowLength = 7
	rowHead   = 3 // service, item, number
	rowZeros  = 3 // in front of the number
	rowsMost  = 5
	shown     = 11 // characters of a number that say no more than the kind of car
)

func isRow(data []byte) bool { return len(data) == rowLength && data[0] == 0x49 }

// hideRow hides what a row of the number may not show; false where there is no such row.
func hideRow(row []byte) bool {
	number := int(row[2])
	for i := rowHead; i < rowLength; i++ {
		if at := (number-1)*(rowLength-rowHead) + i - rowHead - rowZeros; at >= shown || at < 0 && row[i] != 0 {
			row[i] = mark
		}
	}
	return number >= 1 && number <= rowsMost
}

// rows counts the rows of an exchange by item and number.
type rows map[[2]byte]int

// next reports whether a row is the first of its item or follows one, of whichever ECU. Without
// header and check byte, any other may be a damaged row of the number.
func (r rows) next(data []byte) bool {
	item, number := data[1], data[2]
	if number != 1 && r[[2]byte{item, number}] >= r[[2]byte{item, number - 1}] {
		return false
	}
	r[[2]byte{item, number}]++
	return true
}

// characters are those that a number may have, as far as can be said of a damaged one.
const characters = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"

// likePiece reports whether a reply of which neither length nor check byte shows that it is whole
// may as well be a damaged line of a number: it has nothing but characters, or ends as a row does.
func likePiece(data []byte) bool {
	all := func(b []byte) bool { return len(bytes.TrimLeft(b, characters)) == 0 }
	return all(data) || len(data) == rowLength && data[0] != 0x41 && all(data[rowHead:])
}
