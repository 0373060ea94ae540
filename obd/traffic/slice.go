// Package traffic reads what an adapter shows while it listens to the bus (AT MA): lines become
// frames, frames a count of each id. It is pure: no clock, no link.
package traffic

import (
	"fmt"
	"strconv"

	"github.com/judder-obd/judder/obd"
)

// Slice is a part of the ids: those that agree with Value in the bits of Mask.
type Slice struct {
	Mask, Value uint32
	Digits      int // of an id as the adapter writes it: 3 or 8
}

// Holds reports whether an id is in the slice.
func (s Slice) Holds(id uint32) bool { return id&s.Mask == s.Value&s.Mask }

// Filter are the arguments of AT CM and AT CF that let the slice alone pass.
func (s Slice) Filter() (mask, value string) { return s.text(s.Mask), s.text(s.Value) }

func (s Slice) text(n uint32) string { return fmt.Sprintf("%0*X", s.Digits, n) }

// idSpaces are the ids of the two kinds of CAN frames. A full bus is more than a slow serial line
// carries, so it is heard in eight slices: by three bits that divide it evenly. For 11 bits they
// are the middle bits of the three digits: of all choices of three bits these are among the best on two
// recorded cars (4.3 and 5.9 kB a second in the fullest slice; 6.6 and 10.6 by the highest three
// bits). For 29 bits there was no recording: one bit each of the source and of the two bytes before.
var idSpaces = map[obd.Form]struct {
	digits int
	all    uint32
	bits   [3]uint32
}{
	obd.FormCAN11: {3, 0x7FF, [3]uint32{0x200, 0x020, 0x002}},
	obd.FormCAN29: {8, 0x1FFFFFFF, [3]uint32{0x20000, 0x200, 0x2}},
}

// Slices are the parts that together are all ids of a bus; none where it is not CAN.
func Slices(form obd.Form) (list []Slice) {
	space, ok := idSpaces[form]
	if !ok {
		return nil
	}
	for n := range uint32(1 << len(space.bits)) {
		s := Slice{Digits: space.digits}
		for i, bit := range space.bits {
			s.Mask |= bit
			s.Value |= bit * (n >> i & 1)
		}
		list = append(list, s)
	}
	return list
}

// One is the slice of one id.
func One(form obd.Form, id uint32) Slice {
	return Slice{Mask: idSpaces[form].all, Value: id, Digits: idSpaces[form].digits}
}

// Diagnostic reports whether an id is one of diagnostics: on 29 bits those of ISO 15765-4 (18DAxxxx,
// 18DBxxxx), on 11 bits all from 700 on, where requests and replies of further modules lie as well.
func Diagnostic(form obd.Form, id uint32) bool {
	if form == obd.FormCAN29 {
		return id>>16 == 0x18DA || id>>16 == 0x18DB
	}
	return id >= 0x700
}

// ID is an id as the adapter writes it.
func ID(form obd.Form, id uint32) string { return Slice{Digits: idSpaces[form].digits}.text(id) }

// parseID reads the id at the start of a line without spaces.
func parseID(form obd.Form, text string) (id uint32, rest string, ok bool) {
	n := idSpaces[form].digits
	if n == 0 || len(text) < n {
		return 0, "", false
	}
	v, err := strconv.ParseUint(text[:n], 16, 32)
	if err != nil || uint32(v) > idSpaces[form].all {
		return 0, "", false
	}
	return uint32(v), text[n:], true
}
