package pids

import "math"

// Field is one quantity in the data of a PID, one line of the standard's table:
//
//	value = code · Scale / Per + Offset
//
// where code is the unsigned or two's-complement number in Bits bits, most significant
// byte first. Scale and Per are kept apart so that values such as 51·100/255 come out
// correctly rounded.
type Field struct {
	Signal Signal
	Name   string // in words
	Unit   string // as shown; "" for pure numbers and for states

	Byte   int // where it begins in the data after the PID; 0 is byte A of the standard
	Bits   int // width: 1 to 7 within one byte, or 8, 16, 32
	Shift  int // number of bits below it in its byte; 0 unless Bits is under 8
	Signed bool

	Scale, Per, Offset float64
	Min, Max           float64 // range of the data, as published

	// Last is the highest code that is data; codes above it mean "not available" or
	// "not used". 0 means that all codes are data.
	Last uint32

	// In a record with a support byte, this field carries data when data[SupportByte] has
	// SupportBit set. SupportBit 0 means always.
	SupportByte int
	SupportBit  byte

	States []State // what the codes mean, for fields that are states and not quantities

	Recalled bool // the acronym is from memory or our own, not seen in a published table
}

// Step is the difference between two codes next to each other, in the unit.
func (f *Field) Step() float64 { return math.Abs(f.Scale / f.Per) }

// State is one code of a field that is a state.
type State struct {
	Code uint32
	Text string
}

// PID is one row of the table of service $01.
type PID struct {
	ID     byte
	Name   string
	MinLen int // data bytes after the PID; 0 when not known
	MaxLen int // differs from MinLen where editions or vehicles differ
	Fields []Field
	Source string // where the row is from
}

// Value is one reading.
type Value struct {
	Field *Field // in the table; do not change it
	Value float64
}

// Lookup returns the row of a PID, never nil. A PID that is not in the table has the name
// "unknown" and no fields; it is shown raw. Do not change the row.
func Lookup(pid byte) *PID { return &table[pid] }

// Known reports whether the PID is in the table.
func (p *PID) Known() bool { return p.Source != "" }

// IsMap reports whether the PID is a map of supported PIDs ($00, $20 … $E0).
func (p *PID) IsMap() bool { return p.ID%0x20 == 0 }

// FixedLength reports whether the number of data bytes is certain, so that the PID may share
// a reply with others. It is certain for the maps. It is not for the trims that may come with
// a second bank ($06–$09, $55–$58), nor from $64 on, where editions differ.
func (p *PID) FixedLength() bool {
	if p.IsMap() {
		return true
	}
	return p.ID < firstDoubtful && p.MinLen == p.MaxLen
}

// firstDoubtful is the PID from which editions of SAE J1979 differ in lengths. All before it have a
// row with a length.
const firstDoubtful = 0x64

// Append decodes the data of one reply, the bytes after the PID, and appends a Value for
// each field that carries data. A field gives nothing when its support bit is 0, when its
// code is above the range of data, and when it is beyond the end of the data of a PID with
// several lengths. Append does not allocate when dst has room.
//
// The error is a *ReplyError, ErrShort or ErrLong; dst is then as it was.
func (p *PID) Append(dst []Value, data []byte) ([]Value, error) {
	switch {
	case len(data) < p.MinLen || len(data) == 0:
		return dst, &ReplyError{PID: p.ID, Offset: len(data), Err: ErrShort}
	case len(data) > p.MaxLen && p.ID < firstDoubtful:
		return dst, &ReplyError{PID: p.ID, Offset: p.MaxLen, Err: ErrLong}
	}
	for i := range p.Fields {
		f := &p.Fields[i]
		if v, ok := f.Decode(data); ok {
			dst = append(dst, Value{Field: f, Value: v})
		}
	}
	return dst, nil
}

// Decode reads the field in the data of its PID; ok is false when it carries no data.
func (f *Field) Decode(data []byte) (value float64, ok bool) {
	code, ok := f.code(data)
	if !ok {
		return 0, false
	}
	if f.Signed {
		unused := 64 - f.Bits
		return float64(int64(uint64(code)<<unused)>>unused)*f.Scale/f.Per + f.Offset, true
	}
	return float64(code)*f.Scale/f.Per + f.Offset, true
}

// code is the field's number as transmitted.
func (f *Field) code(data []byte) (code uint32, ok bool) {
	bytes := (f.Bits + 7) / 8
	if f.Byte+bytes > len(data) {
		return 0, false
	}
	if f.SupportBit != 0 && data[f.SupportByte]&f.SupportBit == 0 {
		return 0, false
	}
	for _, b := range data[f.Byte : f.Byte+bytes] {
		code = code<<8 | uint32(b)
	}
	if f.Bits < 8 {
		code = code >> f.Shift & (1<<f.Bits - 1)
	}
	return code, f.Last == 0 || code <= f.Last
}

// Text is the state that a value of the field means. It is "" when the field is no state, and
// when the standard does not name this code.
func (f *Field) Text(value float64) string {
	for _, s := range f.States {
		if float64(s.Code) == value {
			return s.Text
		}
	}
	return ""
}
