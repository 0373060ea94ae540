package pids

// Each function below makes one line of the table, so that a row reads like the
// standard's: signal, name, unit, first byte, scale/per, offset, min, max.

func u8(s Signal, name, unit string, first int, scale, per, offset, lowest, highest float64) Field {
	return Field{Signal: s, Name: name, Unit: unit, Byte: first, Bits: 8, Scale: scale, Per: per, Offset: offset, Min: lowest, Max: highest}
}

func u16(s Signal, name, unit string, first int, scale, per, offset, lowest, highest float64) Field {
	f := u8(s, name, unit, first, scale, per, offset, lowest, highest)
	f.Bits = 16
	return f
}

func s16(s Signal, name, unit string, first int, scale, per, lowest, highest float64) Field {
	f := u16(s, name, unit, first, scale, per, 0, lowest, highest)
	f.Signed = true
	return f
}

func u32(s Signal, name, unit string, first int, scale, per, highest float64) Field {
	f := u8(s, name, unit, first, scale, per, 0, 0, highest)
	f.Bits = 32
	return f
}

// percent is A·100/255, 0 to 100 %.
func percent(s Signal, name string, first int) Field {
	return u8(s, name, "%", first, 100, 255, 0, 0, 100)
}

// trim is A·100/128 − 100, −100 to 99.22 %.
func trim(s Signal, name string, first int) Field {
	return u8(s, name, "%", first, 100, 128, -100, -100, 99.21875)
}

// torque is A − 125, −125 to 130 %.
func torque(s Signal, name string, first int) Field {
	return u8(s, name, "%", first, 1, 1, -125, -125, 130)
}

// celsius is A − 40, −40 to 215 °C.
func celsius(s Signal, name string, first int) Field {
	return u8(s, name, "°C", first, 1, 1, -40, -40, 215)
}

// celsius10 is u16/10 − 40, −40 to 6513.5 °C.
func celsius10(s Signal, name string, first int) Field {
	return u16(s, name, "°C", first, 1, 10, -40, -40, 6513.5)
}

// lambda is u16·2/65536, 0 to just under 2. The standard prints 0.0000305 for one step,
// which is 2/65536 rounded.
func lambda(s Signal, name string, first int) Field {
	return u16(s, name, "", first, 2, 65536, 0, 0, 65535*2./65536)
}

// state is a byte whose codes are states.
func state(s Signal, name string, first int, states []State) Field {
	f := u8(s, name, "", first, 1, 1, 0, 0, 255)
	f.States = states
	return f
}

// bits is a field of less than a byte.
func bits(s Signal, name string, first, width, shift int, states []State) Field {
	f := state(s, name, first, states)
	f.Bits, f.Shift, f.Max = width, shift, float64(int(1)<<width-1)
	return f
}

// upTo sets the last code that is data, and its value.
func (f Field) upTo(last uint32, highest float64) Field {
	f.Last, f.Max = last, highest
	return f
}

// when sets the bit of byte A that is 1 when the field carries data. Bit 0 belongs to the
// first item, as in the published bit tables of $66, $67, $78, $A4 and $A5.
func (f Field) when(bit int) Field {
	f.SupportBit = 1 << bit
	return f
}
